"""Renders one painted deck in a plant with Blender (Cycles, CPU).

    blender -b -P render.py -- SCENE.json

SCENE.json comes from make.ts. Writes raw.png (16 bit), view.json (outline corners in pixels, white balance) and
hidden.bin (one byte a deck cell: 1 where something stands between the camera and the deck) beside it.
Deck coordinates are mm (x along the riffles, y down the slope, z up from the deck); Blender units are metres.
"""
import json
import math
import random
import sys
from pathlib import Path

import bpy
import numpy as np
from bpy_extras.object_utils import world_to_camera_view
from mathutils import Matrix, Vector
from mathutils.bvhtree import BVHTree

SCENE_FILE = Path(sys.argv[sys.argv.index("--") + 1])
S = json.loads(SCENE_FILE.read_text())
FOLDER = SCENE_FILE.parent
TEXTURES = Path(S["textureFolder"])
DECK, PLANT, LIGHT, CAMERA = S["deck"], S["plant"], S["light"], S["camera"]
L, W, SLANT = DECK["lengthMm"], DECK["widthMm"], DECK.get("slantMm", 0)
LEAN = SLANT / W  # mm along x that a rhomboid's ends move on for each mm down the deck
SIDE = 1 if S["hand"] == "right" else -1  # a left-hand deck is a mirror image
DECK_HEIGHT = 0.82  # m above the floor
CELL_MM = 2
rng = random.Random(S["seed"])
occluders = []

bpy.ops.wm.read_factory_settings(use_empty=True)
scene = bpy.context.scene
root = bpy.data.objects.new("deck root", None)  # carries the cross slope
scene.collection.objects.link(root)
tilt = Matrix.Translation((0, 0, DECK_HEIGHT)) @ Matrix.Rotation(math.atan(DECK["crossSlopeMmPerM"] / 1000), 4, "X")
root.matrix_world = tilt


def has_deck():
    return S.get("unusable", {}).get("issue") != "no-deck"


def at(x, y, z=0.0):
    """Deck mm to metres in the deck's own frame."""
    return Vector((SIDE * x / 1000, -y / 1000, z / 1000))


def linear(rgb):
    """sRGB 0..255 to a linear RGBA colour."""
    return [(c / 255 / 12.92 if c / 255 <= 0.04045 else ((c / 255 + 0.055) / 1.055) ** 2.4) for c in rgb] + [1]


# --- materials ----------------------------------------------------------------------------------------------------
def new_material(name):
    material = bpy.data.materials.new(name)
    material.use_nodes = True
    nodes, links = material.node_tree.nodes, material.node_tree.links
    return material, nodes, links, nodes["Principled BSDF"]


def image_node(nodes, path, colour=True, interpolation="Linear"):
    node = nodes.new("ShaderNodeTexImage")
    node.image = bpy.data.images.load(str(path), check_existing=True)
    node.image.colorspace_settings.name = "sRGB" if colour else "Non-Color"
    node.interpolation = interpolation
    return node


def noise_node(nodes, links, scale, detail=3.0, stretch=(1, 1, 1), coordinate="Object"):
    coordinates, mapping, noise = (nodes.new(n) for n in ("ShaderNodeTexCoord", "ShaderNodeMapping", "ShaderNodeTexNoise"))
    mapping.inputs["Scale"].default_value = stretch
    noise.inputs["Scale"].default_value, noise.inputs["Detail"].default_value = scale, detail
    links.new(coordinates.outputs[coordinate], mapping.inputs["Vector"])
    links.new(mapping.outputs["Vector"], noise.inputs["Vector"])
    return noise.outputs["Fac"]


def ramp(nodes, links, source, low, high, low_colour, high_colour):
    node = nodes.new("ShaderNodeValToRGB")
    node.color_ramp.elements[0].position, node.color_ramp.elements[1].position = low, high
    node.color_ramp.elements[0].color, node.color_ramp.elements[1].color = low_colour, high_colour
    links.new(source, node.inputs["Fac"])
    return node.outputs["Color"]


def painted(name, rgb, roughness=0.45, dirt=0.5, metallic=0.0, scale=17.0):
    """Worn paint, steel or plastic: colour with dirt and patchy gloss."""
    material, nodes, links, surface = new_material(name)
    colour = linear(rgb)
    grime = [0.4 * c + 0.6 * g for c, g in zip(colour[:3], (0.055, 0.042, 0.03))] + [1]
    blotch = noise_node(nodes, links, scale, 12, (1, 1, 0.45))
    links.new(ramp(nodes, links, blotch, 0.3 + 0.12 * dirt, 0.4 + 0.14 * dirt, grime, colour), surface.inputs["Base Color"])
    links.new(ramp(nodes, links, blotch, 0.3, 0.7, [roughness + 0.25] * 3 + [1], [max(0.08, roughness - 0.12)] * 3 + [1]), surface.inputs["Roughness"])
    surface.inputs["Metallic"].default_value = metallic
    return material


def wooden(name, wet=0.5):
    material, nodes, links, surface = new_material(name)
    coordinates, mapping = nodes.new("ShaderNodeTexCoord"), nodes.new("ShaderNodeMapping")
    mapping.inputs["Scale"].default_value = (1.6, 1.6, 1.6)
    image = image_node(nodes, TEXTURES / "wood.jpg")
    image.projection, image.projection_blend = "BOX", 0.2
    links.new(coordinates.outputs["Object"], mapping.inputs["Vector"])
    links.new(mapping.outputs["Vector"], image.inputs["Vector"])
    links.new(image.outputs["Color"], surface.inputs["Base Color"])
    surface.inputs["Roughness"].default_value = 0.65 - 0.35 * wet
    return material


def floor_material():
    material, nodes, links, surface = new_material("floor")
    coordinates, mapping = nodes.new("ShaderNodeTexCoord"), nodes.new("ShaderNodeMapping")
    mapping.inputs["Scale"].default_value = (0.9, 0.9, 0.9)
    image = image_node(nodes, TEXTURES / "ground.jpg")
    links.new(coordinates.outputs["Object"], mapping.inputs["Vector"])
    links.new(mapping.outputs["Vector"], image.inputs["Vector"])
    puddle = noise_node(nodes, links, 1.7, 10)
    tint = ramp(nodes, links, puddle, 0.47, 0.55, [1.45 * c for c in linear(PLANT["floor"])[:3]] + [1], [1.0 * c for c in linear(PLANT["floor"])[:3]] + [1])
    mix = nodes.new("ShaderNodeMixRGB")
    mix.blend_type, mix.inputs["Fac"].default_value = "MULTIPLY", 1
    gain = nodes.new("ShaderNodeMixRGB")
    gain.blend_type, gain.inputs["Fac"].default_value, gain.inputs["Color2"].default_value = "MULTIPLY", 1, (3.2, 3.2, 3.2, 1)
    links.new(image.outputs["Color"], gain.inputs["Color1"])
    links.new(gain.outputs["Color"], mix.inputs["Color1"])
    links.new(tint, mix.inputs["Color2"])
    links.new(mix.outputs["Color"], surface.inputs["Base Color"])
    links.new(ramp(nodes, links, puddle, 0.56, 0.62, [0.75] * 3 + [1], [0.06] * 3 + [1]), surface.inputs["Roughness"])
    return material


def deck_material():
    """The painted deck: grains with relief under a clear, rippled film of water; matte where the film has broken."""
    material, nodes, links, surface = new_material("running deck")
    albedo = image_node(nodes, FOLDER / "albedo.png")
    maps = image_node(nodes, FOLDER / "maps.png", colour=False)
    water = image_node(nodes, FOLDER / "water.png", colour=False, interpolation="Cubic")
    for node in (albedo, maps, water):
        node.extension = "EXTEND"
    split = nodes.new("ShaderNodeSeparateColor")
    links.new(maps.outputs["Color"], split.inputs["Color"])
    bed, wet = split.outputs[0], split.outputs[1]

    relief = nodes.new("ShaderNodeBump")
    relief.inputs["Distance"].default_value, relief.inputs["Strength"].default_value = 0.0009, 0.8
    links.new(bed, relief.inputs["Height"])
    surface.inputs["Roughness"].default_value, surface.inputs["Specular"].default_value = 0.7, 0.2
    links.new(albedo.outputs["Color"], surface.inputs["Base Color"])
    links.new(relief.outputs["Normal"], surface.inputs["Normal"])

    film, fine = nodes.new("ShaderNodeBump"), nodes.new("ShaderNodeBump")
    film.inputs["Distance"].default_value = 0.004
    links.new(water.outputs["Color"], film.inputs["Height"])
    fine.inputs["Distance"].default_value, fine.inputs["Strength"].default_value = 0.00022 * S["water"]["ripple"], 1.0
    links.new(noise_node(nodes, links, 210, 2, (1, 0.6, 1)), fine.inputs["Height"])
    links.new(film.outputs["Normal"], fine.inputs["Normal"])
    rough = nodes.new("ShaderNodeBump")  # thin film over a thick bed: grains break the mirror
    rough.inputs["Distance"].default_value, rough.inputs["Strength"].default_value = 0.0003, 0.5
    links.new(bed, rough.inputs["Height"])
    links.new(fine.outputs["Normal"], rough.inputs["Normal"])

    gloss, fresnel, factor, mix = (nodes.new(n) for n in ("ShaderNodeBsdfGlossy", "ShaderNodeFresnel", "ShaderNodeMath", "ShaderNodeMixShader"))
    gloss.inputs["Roughness"].default_value, fresnel.inputs["IOR"].default_value = 0.045, 1.33
    for node in (gloss, fresnel):
        links.new(rough.outputs["Normal"], node.inputs["Normal"])
    factor.operation = "MULTIPLY"
    links.new(fresnel.outputs["Fac"], factor.inputs[0])
    links.new(wet, factor.inputs[1])
    links.new(factor.outputs["Value"], mix.inputs["Fac"])
    links.new(surface.outputs["BSDF"], mix.inputs[1])
    links.new(gloss.outputs["BSDF"], mix.inputs[2])
    links.new(mix.outputs["Shader"], nodes["Material Output"].inputs["Surface"])
    return material


def clear_water():
    material, nodes, links, surface = new_material("falling water")
    clear, gloss, mix, fresnel = (nodes.new(n) for n in ("ShaderNodeBsdfTransparent", "ShaderNodeBsdfGlossy", "ShaderNodeMixShader", "ShaderNodeFresnel"))
    gloss.inputs["Roughness"].default_value, fresnel.inputs["IOR"].default_value = 0.05, 1.6
    links.new(fresnel.outputs["Fac"], mix.inputs["Fac"])
    links.new(clear.outputs["BSDF"], mix.inputs[1])
    links.new(gloss.outputs["BSDF"], mix.inputs[2])
    links.new(mix.outputs["Shader"], nodes["Material Output"].inputs["Surface"])
    return material


# --- shapes -------------------------------------------------------------------------------------------------------
def add(name, points, faces, material, uvs=None, on_deck=False, hides=False, bevel=0.0):
    """A mesh from points in metres; `uvs` one per point; `hides` marks what can stand before the deck."""
    mesh = bpy.data.meshes.new(name)
    mesh.from_pydata([tuple(p) for p in points], [], faces)
    if uvs:  # wet faces must look up and outwards, or the film would mirror as if seen from below
        middle = at(L / 2, W / 2)
        for face in mesh.polygons:
            out = face.center - middle
            if face.normal.z + 0.6 * face.normal.dot(out.normalized()) < 0:
                face.flip()
        mesh.update()
    if uvs:
        layer = mesh.uv_layers.new()
        for loop in mesh.loops:
            layer.data[loop.index].uv = uvs[loop.vertex_index]
    mesh.materials.append(material)
    item = bpy.data.objects.new(name, mesh)
    scene.collection.objects.link(item)
    if on_deck:
        item.parent = root
    if bevel:
        modifier = item.modifiers.new("bevel", "BEVEL")
        modifier.width, modifier.segments = bevel, 2
    if hides:
        occluders.append(item)
    return item


BOX_FACES = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]


def deck_box(name, x, y, z, material, hides=True, bevel=0.003, lean=0.0):
    """A box given by (from, to) pairs in deck mm; with `lean` it lies along a rhomboid's slanting end."""
    return add(name, [at(a + lean * b, b, c) for a in x for b in y for c in z], BOX_FACES, material, on_deck=True, hides=hides, bevel=bevel)


def box(name, centre, size, material, turn=0.0, bevel=0.006):
    c, s = math.cos(turn), math.sin(turn)
    points = []
    for sx in (-0.5, 0.5):
        for sy in (-0.5, 0.5):
            for sz in (-0.5, 0.5):
                dx, dy = sx * size[0], sy * size[1]
                points.append((centre[0] + c * dx - s * dy, centre[1] + s * dx + c * dy, centre[2] + sz * size[2]))
    return add(name, points, BOX_FACES, material, bevel=bevel)


def tube(name, path, radius, material, on_deck=False, hides=False, smooth=False):
    """A pipe or hose along points in metres."""
    curve = bpy.data.curves.new(name, "CURVE")
    curve.dimensions, curve.bevel_depth, curve.bevel_resolution, curve.use_fill_caps = "3D", radius, 4, True
    spline = curve.splines.new("NURBS" if smooth else "POLY")
    spline.points.add(len(path) - 1)
    for point, p in zip(spline.points, path):
        point.co = (*p, 1)
    if smooth:
        spline.use_endpoint_u, spline.order_u = True, 4
    curve.materials.append(material)
    item = bpy.data.objects.new(name, curve)
    scene.collection.objects.link(item)
    if on_deck:
        item.parent = root
    if hides:
        occluders.append(item)
    return item


def barrel(name, base, radius, height, material, rings=2):
    tube(name, [base, (base[0], base[1], base[2] + height)], radius, material)
    for r in range(rings + 2):
        z = base[2] + height * r / (rings + 1)
        tube(name + " ring", [(base[0], base[1], z - 0.008), (base[0], base[1], z + 0.008)], radius * 1.03, material)


# --- the table ----------------------------------------------------------------------------------------------------
def taper(x, y):
    high, low = DECK["riffleEndMm"]
    end = high + (low - high) * y / W
    return max(0.0, min(1.0, (end - x) / (0.85 * (end - LEAN * y)))), end


def along_edge(start, end, centre):
    """Length of an edge of the deck, and where in deck mm one is `t` along it and `out` from the deck."""
    (x1, y1), (x2, y2) = start, end
    length = math.hypot(x2 - x1, y2 - y1)
    ax, ay = (x2 - x1) / length, (y2 - y1) / length
    nx, ny = -ay, ax
    if nx * (x1 - centre[0]) + ny * (y1 - centre[1]) < 0:
        nx, ny = -nx, -ny
    return length, lambda t, out: (x1 + ax * t + nx * out, y1 + ay * t + ny * out)


def build_deck(outline, outlet):
    material = deck_material()
    uv = lambda x, y: (x / L, 1 - y / W)
    add("deck", [at(x, y) for x, y in outline], [tuple(range(len(outline)))], material, [uv(x, y) for x, y in outline], on_deck=True)

    riffle, y = DECK["riffle"], DECK["riffle"]["firstMm"]
    while y + riffle["widthMm"] < W - 4:
        width, end = riffle["widthMm"], taper(0, y)[1]
        steps = 14
        points, uvs, faces = [], [], []
        for i in range(steps + 1):
            x = LEAN * y + 6 + (end - LEAN * y - 6) * i / steps
            h = riffle["heightMm"] * taper(x, y)[0]
            for dy, z in ((0, 0), (0.8, h), (width - 0.8, h), (width, 0)):
                points.append(at(x, y + dy, z + 0.02))
                uvs.append(uv(x, y + dy))
            if i:
                a = 4 * (i - 1)
                faces += [(a, a + 1, a + 5, a + 4), (a + 1, a + 2, a + 6, a + 5), (a + 2, a + 3, a + 7, a + 6)]
        faces.append((0, 1, 2, 3))
        add("riffle", points, faces, material, uvs, on_deck=True)
        y += riffle["pitchMm"]

    frame = painted("frame", PLANT["frame"], 0.42, 0.7)
    board = wooden("rim wood") if PLANT["woodFeedBox"] else painted("rim", DECK["colour"], 0.35, 0.6)
    deck_box("high rim", (-22, L - SLANT + 4), (-22, 0), (-34, 28), board)
    deck_box("drive rim", (-22, 0), (-22, W + 2), (-34, 24), board, lean=LEAN)
    launder_material = painted("launder", PLANT["launder"], 0.4, 0.8)
    centre = np.mean(outline, axis=0)
    for start, end in zip(outlet, outlet[1:]):
        length, spot = along_edge(start, end, centre)
        place = lambda t, out, z: at(*spot(t, out), z)
        # Pulp runs over the lip, down a curtain and along the launder: the same picture, taken from the lip inwards.
        lip = [(0, 0, 0), (4, -3, 1), (7, -12, 4), (9, -30, 8)]
        sludge = [(12, -120, 6), (100, -124, 94)]
        for strip in (lip, sludge):
            points = [place(t, out, z) for out, z, _ in strip for t in (0, length)]
            uvs = [uv(*spot(t, -back)) for _, _, back in strip for t in (0, length)]
            add("pulp over the lip", points, [(2 * i, 2 * i + 1, 2 * i + 3, 2 * i + 2) for i in range(len(strip) - 1)], material, uvs, on_deck=True)
        wall = lambda out1, out2, z1, z2: add("launder", [place(t, o, z) for t in (-30, length + 30) for o in (out1, out2) for z in (z1, z2)], BOX_FACES, launder_material, on_deck=True, bevel=0.002)
        wall(2, 5, -150, -20)
        wall(5, 110, -132, -126)
        wall(107, 111, -132, -48)
        wall(-12, 4, -60, -14)
        wall(-70, -12, -110, -30).data.materials[0] = frame

    vane = painted("splitter", (186, 188, 190), 0.3, 0.3, metallic=0.6)
    for mm in S["splittersMm"]:
        for start, end in zip(outlet, outlet[1:]):
            length, spot = along_edge(start, end, centre)
            if mm <= length:
                points = [at(*spot(mm + w, o), z) for w in (-1.5, 1.5) for o, z in ((6, 14), (104, -30), (104, -126), (6, -126))]
                add("splitter", points, [(0, 1, 2, 3), (4, 7, 6, 5), (0, 4, 5, 1), (1, 5, 6, 2)], vane, on_deck=True, hides=True)
                break
            mm -= length

    # Feed box with its slurry, wash pipe with jets.
    first, last = S["feedMm"]
    case = wooden("feed box", 0.3) if PLANT["woodFeedBox"] else painted("feed box", (142, 146, 148), 0.35, 0.6, metallic=0.5)
    deck_box("feed box back", (first - 20, last + 20), (-124, -112), (22, 140), case)
    deck_box("feed box front", (first - 20, last + 20), (-12, -2), (30, 112), case)
    deck_box("feed box end", (first - 20, first - 8), (-124, -2), (22, 140), case)
    deck_box("feed box end", (last + 8, last + 20), (-124, -2), (22, 140), case)
    deck_box("feed box floor", (first - 20, last + 20), (-124, -2), (22, 30), case)
    slurry = painted("slurry", S["slurry"], 0.08, 0.25, scale=40)
    deck_box("slurry", (first - 8, last + 8), (-112, -12), (60, 84), slurry, hides=False, bevel=0)
    x = first + 12
    while x < last:
        tube("feed jet", [at(x, -3, 46), at(x, 4, 34), at(x, 8, 2)], 0.0045, slurry, on_deck=True)
        x += 42
    tube("feed hose", [at(first + 90, -70, 700), at(first + 96, -70, 330), at(first + 100, -66, 110)], 0.026, painted("hose", (40, 42, 46), 0.5, 0.3), on_deck=True, hides=True, smooth=True)
    pipe, jet = painted("wash pipe", PLANT["pipe"], 0.32, 0.4), clear_water()
    tube("wash pipe", [at(last + 24, -26, 66), at(L - SLANT - 10, -26, 66)], 0.014, pipe, on_deck=True, hides=True)
    tube("wash riser", [at(last + 60, -26, 66), at(last + 56, -60, 60), at(last + 50, -110, -40), at(last + 50, -130, -700)], 0.011, pipe, on_deck=True, hides=True, smooth=True)
    for x in range(int(last) + 60, L - SLANT - 20, 45):
        tube("wash jet", [at(x, -16, 62), at(x, 2, 46), at(x, 12, 2)], 0.0016, jet, on_deck=True)
        if (x // 45) % 7 == 0:
            deck_box("pipe bracket", (x - 3, x + 3), (-30, -12), (24, 66), frame, bevel=0.001)

    # Under-frame, legs, drive head.
    cut = DECK.get("cutCornerMm", [0, 0])[0]
    for y in (90, W - 130):
        deck_box("beam", (-80, L - SLANT - 120 - cut), (y, y + 60), (-170, -60), frame, hides=False, lean=LEAN)
    floor = -DECK_HEIGHT * 1000
    for x in (160, L - SLANT - 320 - cut):
        for y in (60, W - 140):
            deck_box("leg", (x, x + 70), (y, y + 70), (floor, -150), frame, hides=False, lean=LEAN)
    deck_box("drive head", (-470, -110), (W * 0.28, W * 0.66), (-230, 60), painted("drive head", PLANT["frame"], 0.35, 0.7), bevel=0.02)
    deck_box("belt guard", (-400, -200), (W * 0.66 + 4, W * 0.66 + 60), (-260, 110), painted("guard", (190, 150, 40), 0.4, 0.7), bevel=0.02)
    deck_box("drive rod", (-115, -20 + LEAN * W * 0.47), (W * 0.45, W * 0.49), (-90, -50), frame)
    deck_box("plinth", (-520, -90), (W * 0.2, W * 0.75), (floor, -230), painted("plinth", (120, 116, 110), 0.8, 0.6), bevel=0.01)


def build_marks():
    """Printed marks on brackets, put down with tape and level: some 0.8 mm off each way, up to 2 mm above the deck's plane."""
    bracket = painted("bracket", PLANT["frame"], 0.4, 0.5)
    for mark in S.get("marks", []):
        (x, y), half = mark["centre"], mark["sizeMm"] * 0.625  # the paper: a cell of an eighth more on each side
        x, y, z = x + rng.gauss(0, 0.8), y + rng.gauss(0, 0.8), rng.uniform(0.2, 2)
        c, s = math.cos(math.radians(mark["turnDegrees"])), math.sin(math.radians(mark["turnDegrees"]))
        paper, nodes, links, surface = new_material("mark")
        links.new(image_node(nodes, FOLDER / f"mark-{mark['id']}.png").outputs["Color"], surface.inputs["Base Color"])
        surface.inputs["Roughness"].default_value, surface.inputs["Specular"].default_value = 0.9, 0.1
        corners = [(-half, -half), (half, -half), (half, half), (-half, half)]  # on the print: right and down
        points = [at(x + SIDE * (u * c - v * s), y + u * s + v * c, z) for u, v in corners]
        add("mark", points, [(0, 1, 2, 3)], paper, [(0, 1), (1, 1), (1, 0), (0, 0)], on_deck=True)
        deck_box("plate", (x - half - 4, x + half + 4), (y - half - 4, y + half + 4), (z - 4, z - 0.2), bracket, bevel=0.001)
        deck_box("post", (x - 12, x + 12), (y - 12, y + 12), (-150, z - 4), bracket)
        deck_box("arm", sorted((x, min(max(x, 80), L - 80))), (y - 12, y + 12), (-162, -150), bracket)


# --- the plant ----------------------------------------------------------------------------------------------------
def deck_direction(azimuth):
    """Unit vector on the floor: 0 from the deck middle to the tailings side, 90 to the dense-product end."""
    a = math.radians(azimuth)
    return Vector((SIDE * math.sin(a), -math.cos(a), 0))


MIDDLE = tilt @ at(L / 2, W / 2)


def build_plant():
    ground = Vector((MIDDLE.x, MIDDLE.y, 0))
    add("floor", [(ground.x + sx * 14, ground.y + sy * 14, 0) for sx, sy in ((-1, -1), (1, -1), (1, 1), (-1, 1))], [(0, 1, 2, 3)], floor_material())
    away, side = -deck_direction(CAMERA["azimuth"]), deck_direction(CAMERA["azimuth"] + 90)
    reach = math.hypot(L, W) / 2000 if has_deck() else -0.5
    if PLANT["wall"]:
        wall = painted("wall", PLANT["wall"], 0.7, 0.35, scale=1.2)
        skirting = painted("skirting", [0.5 * c for c in PLANT["wall"]], 0.6, 0.6, scale=2)
        far = ground + away * (reach + 2.4)
        turn = math.atan2(side.y, side.x) + math.radians(rng.uniform(-14, 14))
        box("wall", (far.x, far.y, 1.9), (12, 0.12, 3.8), wall, turn)
        box("skirting", (far.x - away.x * 0.07, far.y - away.y * 0.07, 0.55), (12, 0.03, 1.1), skirting, turn, 0)
        for z in (1.5, 1.75):
            along, base = Vector((math.cos(turn), math.sin(turn), 0)), far - away * 0.2
            tube("wall pipe", [base - along * 5 + Vector((0, 0, z)), base + along * 5 + Vector((0, 0, z))], 0.03, painted("wall pipe", (120, 120, 116), 0.4, 0.6))
    colours = [(52, 78, 116), (116, 62, 48), (56, 60, 62), (160, 160, 154), (66, 92, 76), (150, 128, 70), (92, 84, 76)]
    for n in range(PLANT["clutter"] * 2):
        spot = ground + away * (reach + rng.uniform(0.55, 2.0)) + side * rng.uniform(-2.6, 2.6)
        material = painted("clutter", rng.choice(colours), rng.uniform(0.3, 0.6), 0.7)
        kind = n % 5
        if kind == 0:
            barrel("drum", (spot.x, spot.y, 0), 0.29, 0.88, material)
        elif kind == 1:
            barrel("bucket", (spot.x, spot.y, 0), 0.15, 0.32, material, 0)
        elif kind == 2:
            box("post", (spot.x, spot.y, 1.7), (0.14, 0.14, 3.4), painted("post", PLANT["frame"], 0.5, 0.8), rng.uniform(0, 3))
        elif kind == 3:
            box("crate", (spot.x, spot.y, 0.3), (0.8, 0.55, 0.6), wooden("crate", 0.1), rng.uniform(0, 3))
        else:
            for layer in range(3):
                box("sack", (spot.x + rng.uniform(-0.05, 0.05), spot.y, 0.08 + 0.15 * layer), (0.7, 0.42, 0.15), painted("sack", (188, 180, 160), 0.9, 0.4), rng.uniform(-0.3, 0.3), 0.06)
    for n in range(3):  # hoses and pipes lying about on this side too
        start = ground + side * rng.uniform(-1.8, 1.8) + (-away if n else away) * (reach * 0.75 + rng.uniform(0, 0.5))
        path = [start + side * (0.28 * k - 0.8) + away * rng.uniform(-0.2, 0.2) + Vector((0, 0, 0.02)) for k in range(8)]
        tube("hose", path, 0.018, painted("hose", rng.choice(colours), 0.45, 0.4), smooth=True)


def invisible(item):
    item.visible_camera = False
    return item


def bulb(name, place, radius, watts, colour):
    data = bpy.data.lights.new(name, "POINT")
    data.energy, data.shadow_soft_size, data.color = watts, radius, colour
    light = bpy.data.objects.new(name, data)
    scene.collection.objects.link(light)
    light.location = place


def build_light():
    world = bpy.data.worlds.new("light")
    scene.world = world
    world.use_nodes = True
    nodes, links = world.node_tree.nodes, world.node_tree.links
    environment, coordinates, mapping = nodes.new("ShaderNodeTexEnvironment"), nodes.new("ShaderNodeTexCoord"), nodes.new("ShaderNodeMapping")
    environment.image = bpy.data.images.load(str(TEXTURES / LIGHT["hdri"]))
    mapping.inputs["Rotation"].default_value[2] = math.radians(LIGHT["turn"])
    links.new(coordinates.outputs["Generated"], mapping.inputs["Vector"])
    links.new(mapping.outputs["Vector"], environment.inputs["Vector"])
    links.new(environment.outputs["Color"], nodes["Background"].inputs["Color"])
    nodes["Background"].inputs["Strength"].default_value = LIGHT["strength"]

    for lamp in LIGHT.get("tubes", []):
        x, y, z = lamp["at"]
        middle = Vector((SIDE * x, -y, DECK_HEIGHT + z))
        a = math.radians(lamp["turn"])
        half = Vector((SIDE * math.cos(a), -math.sin(a), 0)) * lamp["lengthM"] / 2
        data = bpy.data.lights.new("tubes", "AREA")
        data.shape, data.size, data.size_y, data.energy, data.color = "RECTANGLE", lamp["lengthM"], 0.14, lamp["watts"], (1, 0.97, 0.92)
        light = bpy.data.objects.new("tubes", data)
        scene.collection.objects.link(light)
        light.matrix_world = Matrix.Translation(middle) @ Matrix.Rotation(math.atan2(half.y, half.x), 4, "Z")
        box("lamp housing", middle + Vector((0, 0, 0.06)), (lamp["lengthM"] * 1.02, 0.22, 0.03), painted("housing", (220, 220, 216), 0.4, 0.2), math.atan2(half.y, half.x))
    for lamp in LIGHT.get("lamps", []):
        x, y, z = lamp["at"]
        bulb("bulb", (SIDE * x, -y, DECK_HEIGHT + z), lamp["sizeM"], lamp["watts"], linear(lamp["colour"])[:3])
    if "sun" in LIGHT:
        spec = LIGHT["sun"]
        data = bpy.data.lights.new("sun", "SUN")
        data.energy, data.angle, data.color = spec["strength"], math.radians(spec["softDegrees"]), (1, 0.95, 0.88)
        sun = bpy.data.objects.new("sun", data)
        scene.collection.objects.link(sun)
        e = math.radians(spec["elevation"])
        towards = deck_direction(spec["azimuth"]) * math.cos(e) + Vector((0, 0, math.sin(e)))
        sun.rotation_euler = towards.to_track_quat("Z", "Y").to_euler()
        if LIGHT.get("rail"):
            # An overhead rail outside the picture throws its shadow across the deck.
            cross = Vector((-towards.y, towards.x, 0)).normalized()
            for lift, thick in ((1.25, 0.024), (1.55, 0.024)):
                centre = MIDDLE + towards * (lift / math.sin(e)) + deck_direction(rng.uniform(0, 360)) * 0.12
                invisible(tube("rail", [centre - cross * 3 + Vector((0, 0, 0)), centre + cross * 3], thick, painted("rail", (90, 90, 90))))
    if "window" in LIGHT:
        spec = LIGHT["window"]
        towards = deck_direction(spec["azimuth"])
        centre = MIDDLE + towards * spec["distanceM"] + Vector((0, 0, spec["heightM"]))
        data = bpy.data.lights.new("window", "AREA")
        data.shape, data.size, data.size_y, data.energy, data.color = "RECTANGLE", 2.4, 1.5, spec["watts"], (0.92, 0.97, 1)
        window = bpy.data.objects.new("window", data)
        scene.collection.objects.link(window)
        window.location, window.rotation_euler = centre, towards.to_track_quat("Z", "Y").to_euler()
        along = Vector((-towards.y, towards.x, 0))
        bar = painted("glazing bar", (70, 72, 74))
        for k in (-0.6, 0, 0.6):
            invisible(tube("glazing bar", [centre - towards * 0.05 + along * k - Vector((0, 0, 0.75)), centre - towards * 0.05 + along * k + Vector((0, 0, 0.75))], 0.03, bar))
        invisible(tube("glazing bar", [centre - towards * 0.05 - along * 1.2, centre - towards * 0.05 + along * 1.2], 0.03, bar))
    if "person" in LIGHT:
        towards = deck_direction(LIGHT["person"])
        spot = Vector((MIDDLE.x, MIDDLE.y, 0)) + towards * ((L if abs(towards.x) > 0.7 else W) / 2000 + 0.5)
        cloth = painted("clothes", (52, 60, 84), 0.9, 0.2)
        side = Vector((-towards.y, towards.x, 0))
        parts = [([(0, 0.75), (0, 1.42)], 0.17), ([(0, 1.5), (0, 1.72)], 0.1), ([(-0.1, 0.3), (-0.09, 0.8)], 0.075), ([(0.1, 0.3), (0.09, 0.8)], 0.075), ([(-0.2, 1.38), (-0.3, 0.95)], 0.05), ([(0.2, 1.38), (0.36, 1.1)], 0.05)]
        for path, radius in parts:
            invisible(tube("person", [spot + side * u + Vector((0, 0, z)) for u, z in path], radius, cloth))


# --- camera -------------------------------------------------------------------------------------------------------
def build_camera(outline):
    data = bpy.data.cameras.new("phone")
    camera = bpy.data.objects.new("phone", data)
    scene.collection.objects.link(camera)
    scene.camera = camera
    data.sensor_width, data.lens = 36, 18 / math.tan(math.radians(CAMERA["fov"]) / 2)
    e = math.radians(CAMERA["elevation"])
    back = deck_direction(CAMERA["azimuth"]) * math.cos(e) + Vector((0, 0, math.sin(e)))
    turn = back.to_track_quat("Z", "Y").to_matrix().to_4x4() @ Matrix.Rotation(math.radians(CAMERA["roll"]), 4, "Z")
    corners = [tilt @ at(x, y) for x, y in outline]
    target, distance = MIDDLE.copy(), 2.5
    for _ in range(60):  # step back until the whole deck is in the picture, and centre it
        camera.matrix_world = Matrix.Translation(target + back * distance) @ turn
        bpy.context.view_layer.update()
        seen = [world_to_camera_view(scene, camera, c) for c in corners]
        us, vs = [p.x for p in seen], [p.y for p in seen]
        span = max(max(us) - min(us), max(vs) - min(vs)) / (1 - 2 * CAMERA["margin"])
        distance *= span ** 0.7
        right, up = turn.to_3x3().col[0], turn.to_3x3().col[1]
        scale = 2 * distance * math.tan(math.radians(CAMERA["fov"]) / 2)
        target += right * (((max(us) + min(us)) / 2 - 0.5) * scale * 0.6) + up * (((max(vs) + min(vs)) / 2 - 0.5) * scale * 0.45)
    if "aside" in CAMERA:
        stand = Matrix.Translation(camera.matrix_world.translation)
        camera.matrix_world = stand @ Matrix.Rotation(-math.radians(CAMERA["aside"]), 4, "Z") @ stand.inverted() @ camera.matrix_world
    if "jerk" in CAMERA:  # a bent way, through the place where the corners are told
        still = camera.matrix_world.copy()
        for frame, right_share, up_share in ((0, -0.5, -0.15), (2, 0.5, 0.85), (1, 0, 0)):
            right, up = (math.radians(angle * share) for angle, share in zip(CAMERA["jerk"], (right_share, up_share)))
            camera.matrix_world = still @ Matrix.Rotation(-right, 4, "Y") @ Matrix.Rotation(up, 4, "X")
            camera.keyframe_insert("rotation_euler", frame=frame)
        scene.render.use_motion_blur, scene.render.motion_blur_shutter = True, 2
        scene.frame_set(1)
    if "flashWatts" in LIGHT:
        bulb("flash", camera.matrix_world @ Vector((0.015, 0.01, 0)), 0.003, LIGHT["flashWatts"], (1, 0.98, 0.95))
    data.dof.use_dof, data.dof.aperture_fstop, data.dof.focus_distance = True, 9, (camera.matrix_world.translation - MIDDLE).length
    bpy.context.view_layer.update()
    width, height = scene.render.resolution_x, scene.render.resolution_y
    pixels = [world_to_camera_view(scene, camera, c) for c in corners]
    print("camera height above the floor, m:", round(camera.matrix_world.translation.z, 2), "distance", round(distance, 2))
    return camera, [[round(p.x * width, 3), round((1 - p.y) * height, 3)] for p in pixels]


def hidden_cells(camera):
    """1 for each deck cell that something stands before, or that lies outside the picture."""
    graph = bpy.context.evaluated_depsgraph_get()
    points, faces = [], []
    for item in occluders:
        mesh = item.evaluated_get(graph).to_mesh()
        start = len(points)
        points += [item.matrix_world @ v.co for v in mesh.vertices]
        faces += [[start + i for i in p.vertices] for p in mesh.polygons]
    tree = BVHTree.FromPolygons(points, faces)
    eye = camera.matrix_world.translation
    columns, rows = math.ceil(L / CELL_MM), math.ceil(W / CELL_MM)
    hidden = np.zeros((rows, columns), np.uint8)
    for j in range(rows):
        for i in range(columns):
            cell = tilt @ at((i + 0.5) * CELL_MM, (j + 0.5) * CELL_MM, 0.3)
            towards = eye - cell
            hidden[j, i] = tree.ray_cast(cell, towards.normalized(), towards.length)[0] is not None
    return hidden


def render(path, width, height, samples, file_format, depth):
    scene.render.resolution_x, scene.render.resolution_y = width, height
    scene.cycles.samples = samples
    scene.render.image_settings.file_format, scene.render.image_settings.color_depth = file_format, depth
    scene.render.filepath = str(path)
    bpy.ops.render.render(write_still=True)


def main():
    scene.render.engine = "CYCLES"
    cycles = scene.cycles
    cycles.device, cycles.use_adaptive_sampling, cycles.adaptive_threshold = "CPU", True, 0.025
    cycles.max_bounces, cycles.diffuse_bounces, cycles.glossy_bounces, cycles.transparent_max_bounces = 4, 2, 3, 6
    cycles.caustics_reflective = cycles.caustics_refractive = False
    cycles.sample_clamp_indirect, cycles.sample_clamp_direct, cycles.seed = 2.5, 14, S["seed"]
    cycles.blur_glossy, cycles.use_denoising = 0.6, False  # Debian's Blender has no denoiser
    scene.render.threads_mode, scene.render.threads = "FIXED", 2
    width, height = S["widthPx"], S["heightPx"]
    scene.render.resolution_x, scene.render.resolution_y, scene.render.resolution_percentage = width, height, 100
    scene.render.image_settings.color_mode = "RGB"

    if has_deck():
        build_deck(S["outline"], S["outletPath"])
        build_marks()
    build_plant()
    build_light()
    camera, corners = build_camera(S["outline"])
    hidden_cells(camera).tofile(FOLDER / "hidden.bin")

    # Meter like a phone: a small linear render sets exposure and white balance.
    meter = FOLDER / "meter.exr"
    scene.view_settings.view_transform = "Standard"
    render(meter, width // 10, height // 10, 24, "OPEN_EXR", "32")
    image = bpy.data.images.load(str(meter))
    rows, columns = image.size[1], image.size[0]
    pixels = np.array(image.pixels[:]).reshape(rows, columns, image.channels)[rows // 5 : -rows // 5, columns // 6 : -columns // 6, :3].reshape(-1, 3)
    pixels = np.clip(pixels, 0, np.percentile(pixels, 98))
    grey = np.exp(np.mean(np.log(pixels.mean(axis=1) + 1e-3)))
    exposure = math.log2(0.125 / grey) + LIGHT["exposure"]
    balance = pixels.mean(axis=0)
    (FOLDER / "view.json").write_text(json.dumps({"cornersPx": corners, "balance": [round(float(b / balance[1]), 4) for b in balance], "exposure": round(exposure, 3)}))

    scene.view_settings.view_transform, scene.view_settings.look = "Filmic", "High Contrast"
    scene.view_settings.exposure = exposure
    render(FOLDER / "raw.png", width, height, S["samples"], "PNG", "16")


main()
