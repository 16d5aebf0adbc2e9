"""The second, different maker of decks: bands painted on the GPU, with no physics and no camera."""
import math

import torch
import torch.nn.functional as F

from looks import flat_places, roughen, smooth_noise, sometimes, uniform


def painted(n, rows, columns, device, textures):
    """The second maker: borders are random curves across the deck in a random order of fan shapes; colours are any."""
    y = ((torch.arange(rows, device=device) + 0.5) / rows).view(1, 1, rows, 1)
    x = ((torch.arange(columns, device=device) + 0.5) / columns).view(1, 1, 1, columns)
    wide = uniform(n, 0.4, 0.6, device)
    start = uniform(n, -0.15, 0.15, device)
    power = uniform(n, 0.6, 1.6, device)
    along = (x - start).clamp(min=1e-3) ** power
    fan = torch.atan2(y * wide * uniform(n, 0.7, 2.5, device), along) / (math.pi / 2)
    fan = fan + torch.where(x < start, 0.4 * (start - x), torch.zeros_like(x))
    straight = (y + uniform(n, 0.1, 0.9, device) * (1 - x)) / 1.6  # bands that run aslant all over the deck
    place = torch.where(sometimes(n, 0.25, device).bool(), straight, fan)
    place = place + 0.02 * smooth_noise(n, 1, rows, columns, 4, 6, device) * uniform(n, 0, 1.5, device)
    ragged = smooth_noise(n, 1, rows, columns, 60, 24, device) * uniform(n, 0, 0.012, device)
    borders = [uniform(n, 0.0, 0.15, device)]
    narrow = 1 - sometimes(n, 0.5, device) * uniform(n, 0.4, 0.85, device)  # a poor feed: thin bands, light close below
    for low, high in ((0.02, 0.22), (0.02, 0.3)):
        borders.append(borders[-1] + narrow * uniform(n, low, high, device))
    borders.append(borders[-1] + uniform(n, 0.2, 0.9, device))
    gap = uniform(n, 0, 0.03, device) * sometimes(n, 0.3, device)
    place = place + ragged
    truth = torch.ones(n, 1, rows, columns, dtype=torch.long, device=device)
    for k, name in enumerate((2, 3, 4)):
        if name == 3:
            here = sometimes(n, 0.75, device).bool()
        else:
            here = sometimes(n, 0.95, device).bool()
        truth = torch.where((place > borders[k] + gap) & (place <= borders[k + 1]) & here, name, truth)
    rows_of = smooth_noise(n, 1, rows, columns, 70, 14, device) > uniform(n, 1.0, 3.5, device)
    truth = torch.where(rows_of & (truth > 1), 1, truth)
    cover = thinned(truth, x, y, device)
    mean = F.avg_pool2d(cover, 5, 1, 2, count_include_pad=False)  # the disc of the contract, 20 mm
    truth = torch.where(mean.sum(1, keepdim=True) < 1 / 3, 1, mean.argmax(1, keepdim=True) + 2)
    blob = smooth_noise(n, 1, rows, columns, 5, 8, device) + 0.3 * smooth_noise(n, 1, rows, columns, 30, 50, device)
    dry = (blob > uniform(n, 1.5, 2.2, device)) & sometimes(n, 0.5, device).bool()
    bases = torch.rand(n, 6, 3, device=device) * 0.8 + 0.08
    greyness = torch.rand(n, 1, 1, device=device)
    bases = bases.mean(2, keepdim=True) + (bases - bases.mean(2, keepdim=True)) * greyness * 0.9
    darker = torch.rand(n, 1, device=device) < 0.6
    bases[:, 2] = torch.where(darker, bases[:, 2] * 0.45, bases[:, 2])
    between = torch.rand(n, 1, device=device)
    bases[:, 3] = torch.where(torch.rand(n, 1, device=device) < 0.6, bases[:, 2] * between + bases[:, 4] * (1 - between), bases[:, 3])
    # too near a neighbour's colour and nobody could tell: push apart
    for a, b, least in ((2, 1, 0.18), (4, 1, 0.18), (2, 4, 0.18), (3, 4, 0.1), (2, 3, 0.1)):
        near = ((bases[:, a] - bases[:, b]).abs().sum(1, keepdim=True) < least).float()
        bases[:, a] = (bases[:, a] + near * torch.where(bases[:, b].mean(1, keepdim=True) > 0.45, -0.2, 0.2)).clamp(0.03, 0.95)
    # so many grains a cell: few of them lie unevenly
    grains = torch.exp(uniform(n, 0.7, 6, device))
    cover = (cover + torch.randn_like(cover) * torch.sqrt(cover * (1 - cover) / grains)).clamp(0, 1)
    cover = cover / cover.sum(1, keepdim=True).clamp(min=1)
    share = torch.cat([1 - cover.sum(1, keepdim=True), cover], 1)
    picture = torch.einsum("nchw,ncd->ndhw", share, bases[:, 1:5])
    riffle = (torch.sin(2 * math.pi * y * uniform(n, 12, 50, device)) > uniform(n, 0.2, 0.95, device)).float() * (x < uniform(n, 0.3, 1.1, device) + 0.3 * y)
    picture = picture * (1 + riffle * uniform(n, -0.35, 0.25, device))
    picture = picture * (1 + 0.15 * uniform(n, 0, 1, device) * smooth_noise(n, 1, rows, columns, 40, 80, device))
    wet = smooth_noise(n, 1, rows, columns, 30, 60, device).abs() * uniform(n, 0, 0.08, device)
    picture = picture + wet + (smooth_noise(n, 1, rows, columns, 4, 6, device) - 1.2).clamp(min=0) * uniform(n, 0, 0.5, device)
    pale = picture * uniform(n, 1.15, 1.9, device) + 0.03 - wet
    picture = torch.where(dry, pale, picture)
    truth = torch.where(dry, 5, truth)[:, 0]
    picture, truth = rimmed(picture, truth)
    picture, truth = roughen(picture.clamp(0.01, 1), truth, textures)
    return picture, truth


def thinned(truth, x, y, device):
    """Cover of dense, middling and light: soft rims, streaks along the flow, beds that thin on their way down to a few grains."""
    n, _, rows, columns = truth.shape
    hot = F.one_hot(truth[:, 0], 6)[..., 2:5].permute(0, 3, 1, 2).float()
    wide = (3, 5, 9, 15)[torch.randint(4, ()).item()]
    cover = F.avg_pool2d(hot, wide, 1, wide // 2, count_include_pad=False)
    full = uniform(n, 0.75, 1.3, device, (3, 1, 1))
    streaks = smooth_noise(n, 1, rows, columns, 50, 6, device) * uniform(n, 0, 0.3, device)
    patches = smooth_noise(n, 3, rows, columns, 12, 16, device) * uniform(n, 0, 0.3, device, (3, 1, 1)) * sometimes(n, 0.5, device)
    way = (x + y * uniform(n, -0.5, 1, device) - uniform(n, 0.0, 0.7, device)).clamp(min=0)
    fade = 1 - uniform(n, 0, 1.2, device, (3, 1, 1)) * sometimes(n, 0.5, device) * way
    return (cover * full * (1 + streaks + patches) * fade).clamp(0, 1)


def rimmed(picture, truth):
    """Corners put a little beside the deck: a strip of frame, launder or floor along each side of two pictures in five."""
    n, _, rows, columns = picture.shape
    x, y = flat_places(rows, columns, picture.device)
    aside = torch.zeros_like(picture[:, :1]).bool()
    for off in (x, 1 - x, y, 0.5 - y):
        aside = aside | (off + 0.1 * uniform(n, -0.1, 0.1, picture.device) * (x - y) < uniform(n, -0.02, 0.02, picture.device))
    aside = aside & sometimes(n, 0.4, picture.device).bool()
    strip = torch.rand(n, 3, 1, 1, device=picture.device) * 0.8 + 0.05
    strip = strip * (1 + 0.2 * smooth_noise(n, 1, rows, columns, 10, 20, picture.device))
    return torch.where(aside, strip, picture), torch.where(aside[:, 0], 0, truth)
