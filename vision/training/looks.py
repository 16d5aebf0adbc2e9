"""Changes of look, on the GPU."""
import functools
import math

import torch
import torch.nn.functional as F

BURNT = 0.978
"""What a camera could not hold: white, and without a class."""


fused = functools.partial(torch.compile, dynamic=False)
"""One pass over the pictures in the place of a hundred: five times faster (shadows_on, 64 decks on an H200: 5.5 to 1.1 ms)."""


def smooth_noise(n, channels, rows, columns, coarse_y, coarse_x, device):
    """Noise about 0, sd about 1, with the given numbers of knots."""
    knots = torch.randn(n, channels, max(2, coarse_y), max(2, coarse_x), device=device)
    return F.interpolate(knots, size=(rows, columns), mode="bicubic", align_corners=True)


def uniform(n, low, high, device, shape=(1, 1, 1)):
    return (torch.rand(n, *shape, device=device) * (high - low)) + low


def sometimes(n, share, device):
    return (torch.rand(n, 1, 1, 1, device=device) < share).float()


def texture_planes(n, rows, columns, textures, device):
    """Real photographs' fine structure, mean 0, sd 1, one plane a picture, cut at a random place and size."""
    chosen = torch.stack([textures[k] for k in torch.randint(len(textures), (n,)).tolist()]).unsqueeze(1).float()
    size = uniform(n, 0.2, 1, device, (1, 1))
    turn = torch.eye(2, device=device) * size * torch.where(torch.rand(n, 2, 1, device=device) < 0.5, -1.0, 1.0)
    place = (torch.rand(n, 2, 1, device=device) * 2 - 1) * (1 - size)
    grid = F.affine_grid(torch.cat([turn, place], 2), [n, 1, rows, columns], align_corners=False)
    cut = F.grid_sample(chosen, grid, align_corners=False)
    coarse = F.interpolate(cut, size=(rows // 32, columns // 32), mode="area")
    cut = cut - F.interpolate(coarse, size=(rows, columns), mode="bilinear", align_corners=False)
    return cut / (cut.std((1, 2, 3), keepdim=True) + 1e-3)


def roughen(picture, truth, textures):
    """Other cameras and lights: colour mixing, gain, gamma, shading, blur, noise, real texture, things in the way."""
    n, _, rows, columns = picture.shape
    device = picture.device
    dark = picture.amax(1, keepdim=True) == 0
    x = picture.clamp(1e-3, 1) ** uniform(n, 0.75, 1.35, device)
    mix = torch.eye(3, device=device).expand(n, 3, 3) + torch.randn(n, 3, 3, device=device) * 0.2 * sometimes(n, 0.3, device)[:, 0]
    turned = torch.einsum("nij,njhw->nihw", mix / mix.sum(2, keepdim=True).clamp(min=0.3), x)
    x = turned.clamp(0, 1)
    x = x * torch.exp(torch.randn(n, 3, 1, 1, device=device) * 0.08) * torch.exp(torch.randn(n, 1, 1, 1, device=device) * 0.2)
    x = x * (1 + 0.12 * sometimes(n, 0.4, device) * smooth_noise(n, 1, rows, columns, 3, 4, device))
    grey = x.mean(1, keepdim=True)
    x = grey + (x - grey) * uniform(n, 0.45, 1.5, device)
    x = x / (x.mean((1, 2, 3), keepdim=True) / 0.62).clamp(min=1)  # a camera exposes for the whole
    if textures:
        plane = texture_planes(n, rows, columns, textures, device)
        if truth is not None:  # on some classes alone, so that texture can tell them apart
            chosen = (torch.rand(n, 6, device=device) < 0.5).float()
            plane = plane * chosen.gather(1, truth.flatten(1)).view(n, 1, rows, columns)
        x = x * (1 + sometimes(n, 0.5, device) * uniform(n, 0, 0.22, device) * plane)
    x = toned(x)
    # grains lit from a side, as in relief
    aside = [int(k) for k in torch.randint(-2, 3, (2,))]
    x = x + sometimes(n, 0.25, device) * uniform(n, -0.6, 0.6, device) * (x - x.roll(aside, (2, 3))).clamp(-0.3, 0.3)
    soft = F.avg_pool2d(x, 3, 1, 1, count_include_pad=False)
    x = x + (soft - x) * sometimes(n, 0.4, device) * uniform(n, -0.6, 1, device)
    # glare: a broad lobe, streaked along the riffles or speckled
    lobe = (smooth_noise(n, 1, rows, columns, 3, 3, device) - uniform(n, 0.0, 1.5, device)).clamp(min=0)
    streak = smooth_noise(n, 1, rows, columns, rows // 4, columns // 24, device) * uniform(n, 0, 1, device)
    speck = torch.randn(n, 1, rows, columns, device=device) * uniform(n, 0, 0.7, device)
    x = x + sometimes(n, 0.35, device) * uniform(n, 0.05, 0.45, device) * lobe * (1 + streak + speck).clamp(min=0)
    x = x + sometimes(n, 0.25, device) * lamp(n, rows, columns, device)
    x = x + sometimes(n, 0.2, device) * sky(n, rows, columns, device)
    scale = torch.empty(()).uniform_(0.22, 0.8).item()
    small = F.interpolate(F.interpolate(x, scale_factor=scale, mode="area"), size=(rows, columns), mode="bilinear", align_corners=False)
    x = x + (small - x) * sometimes(n, 0.2, device)
    # colour is kept at a coarser size than light
    tint = x - x.mean(1, keepdim=True)
    coarse = F.interpolate(F.avg_pool2d(tint, 4), size=(rows, columns), mode="bilinear", align_corners=False)
    x = x + (coarse - tint) * sometimes(n, 0.3, device)
    x = x + torch.randn_like(x) * uniform(n, 0, 0.03, device)
    x = (x * 255).round().clamp(1, 255) / 255
    x = torch.where(dark, torch.zeros_like(x), x)
    if truth is not None:
        truth = torch.where(x.amin(1) > BURNT, torch.zeros_like(truth), truth)
    return x, truth


def toned(x):
    """Another tone curve on two pictures in five: lifted or sunk shadows, pressed or spread lights, never turned round."""
    n, device = len(x), x.device
    knots = torch.exp(torch.randn(n, 6, device=device) * 0.5).cumsum(1)
    knots = torch.cat([torch.zeros(n, 1, device=device), knots], 1) / knots[:, -1:]
    low, high = torch.rand(n, 1, device=device) * 0.12, 1 - torch.rand(n, 1, device=device) * 0.15
    knots = low + knots * (high - low)
    at = x.clamp(0, 0.9999) * 6
    below = at.long()
    flat = below.flatten(1)
    start, end = knots.gather(1, flat).view_as(x), knots.gather(1, flat + 1).view_as(x)
    curved = start + (end - start) * (at - below)
    return x + (curved - x) * sometimes(n, 0.4, device)


def sky(n, rows, columns, device):
    """The sky, a roof or a wall seen in the film: bright toward one side, in the tint of what is seen, broken up by waves."""
    x, y = flat_places(rows, columns, device)
    turn = uniform(n, 0, 2 * math.pi, device)
    toward = torch.cos(turn) * (x - 0.5) + 2 * torch.sin(turn) * (y - 0.25)
    bright = torch.sigmoid((toward - uniform(n, -0.5, 0.5, device)) * uniform(n, 2, 20, device))
    fine, long = torch.randint(10, 70, ()).item(), torch.randint(6, 60, ()).item()
    waves = torch.sigmoid((smooth_noise(n, 1, rows, columns, fine, long, device) - uniform(n, -1.5, 1, device)) * uniform(n, 0.5, 5, device))
    tint = 1 + torch.randn(n, 3, 1, 1, device=device) * 0.12
    return bright * waves * uniform(n, 0.03, 0.35, device) * tint


def flat_places(rows, columns, device):
    """x and y of each place, in shares of the deck's length; decks are taken to be half as wide as long."""
    y = ((torch.arange(rows, device=device) + 0.5) / rows * 0.5).view(1, 1, rows, 1)
    x = ((torch.arange(columns, device=device) + 0.5) / columns).view(1, 1, 1, columns)
    return x, y


def lamp(n, rows, columns, device):
    """A lamp or the sun in the water: a bright spot, broken up by ripples."""
    x, y = flat_places(rows, columns, device)
    across, along = (torch.exp(uniform(n, math.log(0.02), math.log(0.25), device)) for _ in range(2))
    spot = torch.exp(-(((x - uniform(n, 0, 1, device)) / across) ** 2) - ((y - uniform(n, 0, 0.5, device)) / along) ** 2)
    ripples = smooth_noise(n, 1, rows, columns, rows // 5, columns // 16, device) + 0.7 * smooth_noise(n, 1, rows, columns, rows // 3, columns // 3, device)
    broken = torch.sigmoid((ripples - uniform(n, -1.5, 1.5, device)) * uniform(n, 0.5, 6, device))
    tint = 1 + torch.randn(n, 3, 1, 1, device=device) * 0.08
    return spot * broken * torch.exp(uniform(n, math.log(0.1), math.log(3), device)) * tint


def recoloured(picture, truth):
    """Each class another gain and tint, so that no colour is bound to a class; on one picture in three, unless two classes came to look alike."""
    n, _, rows, columns = picture.shape
    device = picture.device
    gains = torch.exp(torch.randn(n, 6, 1, device=device) * 0.22 + torch.randn(n, 6, 3, device=device) * 0.09)
    gains[:, 0] = 1
    some = F.one_hot(truth[:, ::4, ::4], 6).flatten(1, 2).float()
    counts = some.sum(1)
    means = torch.einsum("npc,ndp->ncd", some, picture[:, :, ::4, ::4].flatten(2)) / counts.clamp(min=1).unsqueeze(2)
    there = counts[:, 1:5] > 12

    def least_apart(colours):
        off = (colours[:, 1:5, None] - colours[:, None, 1:5]).abs().sum(3)
        pairs = there[:, :, None] & there[:, None] & ~torch.eye(4, dtype=torch.bool, device=device)
        return torch.where(pairs, off, torch.full_like(off, 9.0)).amin((1, 2))

    apart = least_apart(means * gains)
    chosen = (torch.rand(n, device=device) < 0.33) & ((apart > 0.12) | (apart > least_apart(means)))
    gain = gains.gather(1, truth.flatten(1).unsqueeze(2).expand(-1, -1, 3)).transpose(1, 2).reshape(n, 3, rows, columns)
    gain = F.avg_pool2d(gain, 5, 1, 2, count_include_pad=False)
    seen = (picture.amax(1, keepdim=True) > 0).float()
    return torch.where(chosen.view(n, 1, 1, 1), (picture * gain).clamp(1 / 255, 1) * seen, picture)


@fused
def things_before(picture, truth):
    """Bars, plates and hands of any colour laid before the deck, on two pictures in five; what they hide has no class."""
    n, _, rows, columns = picture.shape
    device = picture.device
    x, y = flat_places(rows, columns, device)
    seen = picture.amax(1, keepdim=True) > 0

    def lay(off, share, picture, truth):
        """off: how far off the thing's axis, 1 at its rim."""
        here = (off < 1) & sometimes(n, share, device).bool() & seen
        colour = torch.rand(n, 1, 1, 1, device=device) * 0.85 + 0.05 + torch.randn(n, 3, 1, 1, device=device) * uniform(n, 0.02, 0.25, device)
        round_ = 1 - uniform(n, 0, 0.8, device) * off**2 + uniform(n, -0.3, 0.3, device) * off
        grain = 1 + torch.randn(n, 1, rows, columns, device=device) * uniform(n, 0, 0.06, device) + 0.1 * smooth_noise(n, 1, rows, columns, 8, 12, device)
        return torch.where(here, (colour * round_ * grain).clamp(1 / 255, 1), picture), torch.where(here[:, 0], 0, truth)

    for _ in range(3):
        turn = uniform(n, 0, math.pi, device)
        dx, dy = x - uniform(n, 0, 1, device), y - uniform(n, 0, 0.5, device)
        along, across = torch.cos(turn) * dx + torch.sin(turn) * dy, torch.cos(turn) * dy - torch.sin(turn) * dx
        wide = torch.exp(uniform(n, math.log(0.006), math.log(0.08), device))
        long = wide * uniform(n, 0.6, 25, device)
        picture, truth = lay(torch.where(along.abs() < long, across.abs() / wide, 2.0), 0.14, picture, truth)
    picture, truth = lay(hand(n, x, y, device), 0.16, picture, truth)
    return lay(hand(n, x, y, device), 0.08, picture, truth)


def hand(n, x, y, device):
    """How far off a hand's axes each place lies, 1 at its rim: an arm, a palm, four fingers long or drawn in, a thumb."""
    size = torch.exp(uniform(n, math.log(0.015), math.log(0.06), device))
    turn = uniform(n, 0, 2 * math.pi, device)
    dx, dy = (x - uniform(n, 0, 1, device)) / size, (y - uniform(n, 0, 0.5, device)) / size
    dx, dy = dx + 0.15 * torch.sin(dy * 2.1), dy + 0.15 * torch.sin(dx * 1.7)

    def limb(angle, start, end, thick):
        c, s = torch.cos(angle), torch.sin(angle)
        t = (c * dx + s * dy).clamp(min=0)
        t = torch.minimum(torch.maximum(t, start), end)
        return torch.hypot(dx - c * t, dy - s * t) / thick

    zero = torch.zeros_like(size)
    best = torch.minimum(torch.hypot(dx, dy), limb(turn + math.pi, zero, uniform(n, 2, 30, device), uniform(n, 0.55, 1.1, device)))
    spread, reach = uniform(n, 0.1, 0.35, device), uniform(n, 0.8, 2.4, device)
    for k in range(4):
        best = torch.minimum(best, limb(turn + (k - 1.5) * spread, zero + 0.5, reach * uniform(n, 0.85, 1.1, device), uniform(n, 0.2, 0.3, device)))
    thumb = turn + torch.where(torch.rand_like(size) < 0.5, 1.1, -1.1)
    return torch.minimum(best, limb(thumb, zero, uniform(n, 1.0, 1.7, device), uniform(n, 0.22, 0.32, device)))


@fused
def shadows_on(picture):
    """Shadows of rails, fences, roofs and people, or the sun through openings, on two pictures in five: hard or soft, bluish as under open sky."""
    n, _, rows, columns = picture.shape
    device = picture.device
    x, y = flat_places(rows, columns, device)
    chosen = sometimes(n, 0.4, device)
    waves = smooth_noise(n, 1, rows, columns, 4, 6, device)
    turn = uniform(n, 0, math.pi, device)

    def placed(turn):
        """Along and across an axis through a random place of the deck."""
        dx, dy = x - uniform(n, 0, 1, device), y - uniform(n, 0, 0.5, device)
        return torch.cos(turn) * dx + torch.sin(turn) * dy, torch.cos(turn) * dy - torch.sin(turn) * dx

    def softness():
        return torch.exp(uniform(n, math.log(0.0008), math.log(0.03), device))

    def tinted(share, deepest):
        depth = uniform(n, 0.25, deepest, device) * sometimes(n, share, device)
        return depth * (1 + torch.tensor([0.08, 0.0, -0.1], device=device).view(1, 3, 1, 1) * uniform(n, 0, 1, device))

    light = torch.ones_like(picture)
    for _ in range(3):  # rails, pillars, people: straight or wavy, side by side or across
        along, across = placed(torch.where(sometimes(n, 0.5, device).bool(), turn, uniform(n, 0, math.pi, device)))
        wide = torch.exp(uniform(n, math.log(0.006), math.log(0.2), device))
        bent = wide * (1 + 0.5 * waves * uniform(n, 0, 1, device) * sometimes(n, 0.4, device))
        soft = softness()
        here = torch.sigmoid((bent - across.abs()) / soft) * torch.sigmoid((wide * uniform(n, 1, 30, device) - along.abs()) / soft)
        light = light * (1 - here * tinted(0.5, 0.88))
    # the edge of a roof, or bars of a fence, one beside the other
    _, across = placed(turn)
    light = light * (1 - torch.sigmoid(across / softness()) * tinted(0.25, 0.88))
    apart = torch.exp(uniform(n, math.log(0.03), math.log(0.3), device))
    off = ((across / apart) % 1 - 0.5).abs() * apart
    light = light * (1 - torch.sigmoid((apart * uniform(n, 0.05, 0.35, device) - off) / softness()) * tinted(0.15, 0.8))
    # all in the shade but a patch of sun
    along, across = placed(turn)
    soft = softness()
    patch = [torch.sigmoid((torch.exp(uniform(n, math.log(0.03), math.log(0.5), device)) - off.abs()) / soft) for off in (along, across)]
    light = light * (1 - (1 - patch[0] * patch[1]) * tinted(0.15, 0.85))
    return torch.where(picture > 0, (picture * (1 + (light - 1) * chosen)).clamp(min=1 / 255), picture)
