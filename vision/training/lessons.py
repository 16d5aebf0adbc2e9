"""What each network is shown and how its answers are marked: one function a network, batch → (loss, a figure to watch)."""
import torch
import torch.nn.functional as F

from looks import BURNT, recoloured, roughen, shadows_on, things_before, uniform
from pool import COLUMNS, ROWS, SMALL, SQUARE
from second_maker import painted

WEIGHTS = [1.0, 1.5, 1.5, 1.0, 2.0, 1.0]
"""Bare, dense, middling, light, dry; no deck to be seen."""
MARGIN = 0.22
"""As in finding/way-round.ts."""


def place_channels(flat):
    n, _, rows, columns = flat.shape
    seen = (flat.amax(1, keepdim=True) > 0).float()
    ys = ((torch.arange(rows, device=flat.device) + 0.5) / rows).view(1, 1, rows, 1).expand(n, 1, rows, columns)
    xs = ((torch.arange(columns, device=flat.device) + 0.5) / columns).view(1, 1, 1, columns).expand(n, 1, rows, columns)
    return torch.cat([(flat - 0.5) * seen, seen, xs, ys], 1).contiguous(memory_format=torch.channels_last)


def learn_classes(net, batch, textures, step):
    """Classes of the flat deck; every second batch from the second maker, half of these where scenes have their bands."""
    flat, truth = batch
    with torch.no_grad():
        if step % 2 == 0:
            flat, truth = painted(len(flat), ROWS, COLUMNS, flat.device, textures, batch if step % 4 == 0 else None)
        else:
            burnt = flat.amin(1, keepdim=True) > BURNT  # stays white in any look
            flat, truth = roughen(recoloured(shadows_on(flat), truth), truth, textures)
            flat = torch.where(burnt, 1.0, flat)
        flat, truth = things_before(flat, truth)
    with torch.autocast("cuda", dtype=torch.bfloat16):
        logits = net(place_channels(flat))
    logits = F.interpolate(logits.float(), scale_factor=2, mode="bilinear", align_corners=False)
    known = flat.amax(1) > 0
    label = torch.where(truth > 0, truth - 1, 5)
    cross = F.cross_entropy(logits, label, weight=torch.tensor(WEIGHTS, device=flat.device), reduction="none")
    cross = (cross * known).sum() / known.sum().clamp(min=1)
    share = logits.softmax(1) * known.unsqueeze(1)
    hot = F.one_hot(label, 6).permute(0, 3, 1, 2) * known.unsqueeze(1)
    overlap = (share * hot).sum((0, 2, 3))
    dice = 1 - ((2 * overlap + 1) / (share.sum((0, 2, 3)) + hot.sum((0, 2, 3)) + 1)).mean()
    return cross + 0.5 * dice, cross


def to_square(corners):
    """Homography of each quadrilateral (n × 4 × 2) onto the unit square, n × 3 × 3."""
    n, device = len(corners), corners.device
    square = torch.tensor([[0.0, 0], [1, 0], [1, 1], [0, 1]], device=device).expand(n, 4, 2)
    x, y, u, v = corners[..., 0], corners[..., 1], square[..., 0], square[..., 1]
    one, zero = torch.ones_like(x), torch.zeros_like(x)
    first = torch.stack([x, y, one, zero, zero, zero, -u * x, -u * y], -1)
    second = torch.stack([zero, zero, zero, x, y, one, -v * x, -v * y], -1)
    h = torch.linalg.solve(torch.cat([first, second], 1), torch.cat([u, v], 1))
    return torch.cat([h, torch.ones(n, 1, device=device)], 1).view(n, 3, 3)


def places(size, device):
    grid = (torch.arange(size, device=device) + 0.5) / size
    return grid.view(1, 1, size).expand(1, size, size), grid.view(1, size, 1).expand(1, size, size)


def on_deck(corners, size):
    """Deck shares u, v of each place of the photo, n × size × size × 2."""
    x, y = places(size, corners.device)
    h = to_square(corners).view(-1, 9, 1, 1)
    w = h[:, 6] * x + h[:, 7] * y + h[:, 8]
    ahead = torch.sign(h[:, 6] * corners[:, :, 0].mean(1)[:, None, None] + h[:, 7] * corners[:, :, 1].mean(1)[:, None, None] + h[:, 8])
    w = torch.where(w * ahead > 1e-4, w, torch.full_like(w, 1e9))
    uv = torch.stack([(h[:, 0] * x + h[:, 1] * y + h[:, 2]) / w, (h[:, 3] * x + h[:, 4] * y + h[:, 5]) / w], -1)
    return torch.where((w == 1e9).unsqueeze(-1), torch.full_like(uv, -9.0), uv)


def inside(corners, size):
    uv = on_deck(corners, size)
    return ((uv > 0) & (uv < 1)).all(-1).float()


def sides(corners, size):
    """1 on the outline's sides, fading within a cell or two."""
    x, y = places(size, corners.device)
    best = torch.full((len(corners), size, size), 1e9, device=corners.device)
    for k in range(4):
        a, b = corners[:, k, :, None, None], corners[:, (k + 1) % 4, :, None, None]
        dx, dy = b[:, 0] - a[:, 0], b[:, 1] - a[:, 1]
        t = (((x - a[:, 0]) * dx + (y - a[:, 1]) * dy) / (dx * dx + dy * dy).clamp(min=1e-6)).clamp(0, 1)
        best = torch.minimum(best, (x - a[:, 0] - t * dx) ** 2 + (y - a[:, 1] - t * dy) ** 2)
    return torch.exp(-best / (2 * (1.1 / size) ** 2))


def heat(corners, size):
    x, y = places(size, corners.device)
    dx, dy = x.unsqueeze(1) - corners[..., 0, None, None], y.unsqueeze(1) - corners[..., 1, None, None]
    return torch.exp(-(dx**2 + dy**2) / (2 * (1.5 / size) ** 2))


def moved(photo, corners):
    """Turned, shifted, mirrored, nearer or farther; the picture's rim is drawn out where it ends."""
    n, device = len(photo), photo.device
    turn = torch.randn(n, device=device) * 0.12
    scale = uniform(n, 0.72, 1.2, device, ())
    shape = uniform(n, 0.85, 1.18, device, ())
    flip = torch.where(torch.rand(n, device=device) < 0.5, -1.0, 1.0)
    c, s = torch.cos(turn), torch.sin(turn)
    a = torch.stack([torch.stack([c * scale * shape * flip, -s * scale / shape], -1), torch.stack([s * scale * shape * flip, c * scale / shape], -1)], 1)
    shift = torch.randn(n, 2, device=device) * 0.05
    grid = F.affine_grid(torch.cat([a, 2 * shift.unsqueeze(-1)], -1), list(photo.shape), align_corners=False)
    photo = F.grid_sample(photo, grid, padding_mode="border", align_corners=False)
    corners = torch.linalg.solve(a.unsqueeze(1), (corners - 0.5 - shift.unsqueeze(1)).unsqueeze(-1)).squeeze(-1) + 0.5
    return photo, corners


def learn_outline(net, batch, textures, step):
    """Corners in their order, the deck and its sides; now and then a painted deck in the place of the scene's, or none."""
    photo, corners = batch
    n, device = len(photo), photo.device
    with torch.no_grad():
        if step % 4 == 0:
            flat, _ = painted(n, ROWS // 2, COLUMNS // 2, device, textures)
            uv = on_deck(corners, SMALL)
            new = F.grid_sample(flat, uv * 2 - 1, align_corners=False)
            photo = torch.where(((uv > 0) & (uv < 1)).all(-1).unsqueeze(1), new, photo)
        photo, corners = moved(photo, corners)
        photo, _ = roughen(shadows_on(photo), None, textures)
        there = (torch.rand(n, device=device) > 0.06).float()
        # no deck: its place is filled with another part of the picture, upside down
        hole = F.max_pool2d(inside(corners, SMALL).unsqueeze(1), 31, 1, 15) * (1 - there).view(-1, 1, 1, 1)
        photo = photo * (1 - hole) + hole * photo.roll(SMALL // 2, -1).flip(-2)
    with torch.autocast("cuda", dtype=torch.bfloat16):
        out = net((photo - 0.5).contiguous(memory_format=torch.channels_last))
    out = out.float()
    size = out.shape[-1]
    seen = there.view(-1, 1, 1, 1)
    target = heat(corners, size) * seen
    focus = (F.binary_cross_entropy_with_logits(out[:, :4], target, reduction="none") * (1 + 60 * target)).mean()
    line = sides(corners, size) * there.view(-1, 1, 1)
    edge = (F.binary_cross_entropy_with_logits(out[:, 5], line, reduction="none") * (1 + 6 * line)).mean()
    mask = F.binary_cross_entropy_with_logits(out[:, 4], inside(corners, size) * there.view(-1, 1, 1))
    in_frame = (((corners > 0) & (corners < 1)).all(-1) & there.view(-1, 1).bool()).float()
    chance = out[:, :4].flatten(2).softmax(-1).view(-1, 4, size, size)
    x, y = places(size, device)
    at = torch.stack([(chance * x.unsqueeze(1)).sum((2, 3)), (chance * y.unsqueeze(1)).sum((2, 3))], -1)
    away = ((at - corners).abs().sum(-1) * in_frame).sum() / in_frame.sum().clamp(min=1)
    return 3 * focus + away + mask + edge, away


def learn_way_round(net, batch, textures, step):
    """Which of the eight turns and mirrorings of the deck's own picture this is: turned r quarters, mirrored first from 4 on."""
    (square,) = batch
    n, device = len(square), square.device
    with torch.no_grad():
        if step % 4 == 0:
            flat, _ = painted(n, 144, 288, device, textures)
            a, b = round(SQUARE * MARGIN / (1 + 2 * MARGIN)), round(SQUARE * (1 + MARGIN) / (1 + 2 * MARGIN))
            square[:, :, a:b, a:b] = F.interpolate(flat, size=(b - a, b - a), mode="area")
        around = torch.eye(2, 3, device=device).repeat(n, 1, 1) + torch.randn(n, 2, 3, device=device) * 0.04
        square = F.grid_sample(square, F.affine_grid(around, list(square.shape), align_corners=False), padding_mode="border", align_corners=False)
        square, _ = roughen(square, None, textures)
        label = torch.randint(0, 8, (n,), device=device)
        square = torch.stack([torch.rot90(p.flip(-1) if k >= 4 else p, k % 4, (-2, -1)) for p, k in zip(square, label.tolist())])
    with torch.autocast("cuda", dtype=torch.bfloat16):
        out = net((square - 0.5).contiguous(memory_format=torch.channels_last))
    out = out.float()
    return F.cross_entropy(out, label), (out.argmax(1) == label).float().mean()
