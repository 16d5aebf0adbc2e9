"""The second, different maker of decks: bands painted on the GPU, with no camera; with no physics, or where a scene's physics laid them."""
import math

import torch
import torch.nn.functional as F

from looks import flat_places, roughen, shadows_on, smooth_noise, sometimes, uniform


def painted(n, rows, columns, device, textures, scenes=None):
    """The second maker: flat decks in any colours and what is where, n × 3 × rows × columns and n × rows × columns.

    scenes: flat decks and classes of scenes, to be painted anew where their bands lie; without them borders are random curves.
    """
    y = ((torch.arange(rows, device=device) + 0.5) / rows).view(1, 1, rows, 1)
    x = ((torch.arange(columns, device=device) + 0.5) / columns).view(1, 1, 1, columns)
    if scenes is None:
        truth = fans(n, rows, columns, x, y, device)
        dry = films(n, rows, columns, device)
        hidden, known = torch.zeros_like(dry), torch.ones_like(dry)
    else:
        truth = scenes[1].unsqueeze(1)
        dry, hidden = truth == 5, truth == 0
        known = ~(dry | hidden)
    truth = torch.where((truth > 1) & known & parted(n, rows, columns, device), 1, truth)
    crest, slope = riffles(n, x, y, device)
    cover = thinned(truth, known.float(), x, y, device)
    cover = cover * (1 - crest * uniform(n, 0, 1, device, (3, 1, 1)) * sometimes(n, 0.4, device))  # crests stand out of the bed
    mean = F.avg_pool2d(cover, 5, 1, 2, count_include_pad=False)  # the disc of the contract, 20 mm
    truth = torch.where(mean.sum(1, keepdim=True) < 1 / 3, 1, mean.argmax(1, keepdim=True) + 2)
    # so many grains a cell: few of them lie unevenly
    grains = torch.exp(uniform(n, 0.7, 6, device))
    cover = (cover + torch.randn_like(cover) * torch.sqrt(cover * (1 - cover) / grains)).clamp(0, 1)
    cover = cover / cover.sum(1, keepdim=True).clamp(min=1)
    share = torch.cat([1 - cover.sum(1, keepdim=True), cover], 1)
    picture = torch.einsum("nchw,ncd->ndhw", share, colours(n, device))
    # grains of several colours, each class with a grain of its own
    coarse = (1, 2, 3)[torch.randint(3, ()).item()]
    speckle = torch.randn(n, 1, -(-rows // coarse), -(-columns // coarse), device=device)
    speckle = F.interpolate(speckle, size=(rows, columns), mode="nearest" if coarse == 1 else "bilinear")
    amount = uniform(n, 0, 0.2, device, (4, 1, 1)) * sometimes(n, 0.4, device)
    picture = picture * (1 + (share * amount).sum(1, keepdim=True) * speckle)
    picture = picture * (1 + crest * uniform(n, -0.4, 0.3, device) + slope * uniform(n, -0.35, 0.35, device) * sometimes(n, 0.6, device))
    picture = picture * (1 + 0.15 * uniform(n, 0, 1, device) * smooth_noise(n, 1, rows, columns, 40, 80, device))
    wet = smooth_noise(n, 1, rows, columns, 30, 60, device).abs() * uniform(n, 0, 0.08, device)
    wet = wet + (smooth_noise(n, 1, rows, columns, 4, 6, device) - 1.2).clamp(min=0) * uniform(n, 0, 0.5, device)
    # without its film a surface is paler, often greyer, and nothing shines in it; water stands at its rim
    pale = picture * torch.exp(uniform(n, math.log(1.06), math.log(1.9), device)) + uniform(n, 0.0, 0.12, device)
    pale = pale + (pale.mean(1, keepdim=True) - pale) * uniform(n, 0, 0.6, device)
    rim = F.max_pool2d(dry.float(), 7, 1, 3) - dry.float()
    picture = picture * (1 + rim * uniform(n, -0.35, 0.25, device) * sometimes(n, 0.4, device))
    picture = torch.where(dry, pale, picture + wet)
    truth = torch.where(dry, 5, truth)[:, 0]
    if scenes is None:
        picture, truth = rimmed(picture, truth)
    else:
        picture, truth = torch.where(hidden, scenes[0], picture), torch.where(hidden[:, 0], 0, truth)
    return roughen(torch.where(hidden, picture, shadows_on(picture.clamp(0.01, 1))), truth, textures)


def parted(n, rows, columns, device):
    """Bare gaps that part bands, on two decks in five: from somewhere on down the flow, straight or bent, of even width or opening."""
    x, y = flat_places(rows, columns, device)
    bends = smooth_noise(n, 1, rows, columns, 6, 4, device) * uniform(n, 0, 0.02, device) + smooth_noise(n, 1, rows, columns, 60, 24, device) * uniform(n, 0, 0.004, device)
    here = torch.zeros(n, 1, rows, columns, dtype=torch.bool, device=device)
    slope, middle = uniform(n, -0.02, 0.35, device), uniform(n, 0, 0.35, device)
    for _ in range(3):
        start, end = uniform(n, 0, 0.9, device), uniform(n, 0.6, 1.6, device)
        wide = torch.exp(uniform(n, math.log(0.003), math.log(0.025), device))
        wide = wide * (1 - sometimes(n, 0.5, device) * (1 - ((x - start) / 0.5).clamp(0, 1)))
        off = (y - middle - slope * x + bends).abs()
        here = here | ((off < wide) & (x > start) & (x < end) & sometimes(n, 0.6, device).bool())
        middle = middle + uniform(n, -0.12, 0.12, device)
    return here & sometimes(n, 0.4, device).bool()


def riffles(n, x, y, device):
    """Crests of riffles, 0 to 1, and how their sides lean: few or many, straight or fanning out, unlike in width; ending along a line."""
    many = torch.exp(uniform(n, math.log(5), math.log(60), device))
    at = y * many * (1 + uniform(n, -0.15, 0.15, device) * x) + uniform(n, -1.5, 1.5, device) * x + uniform(n, 0, 1, device)
    off = (at - at.floor() - 0.5) / uniform(n, 0.05, 0.3, device)
    there = (x < uniform(n, 0.3, 1.1, device) + uniform(n, -0.2, 0.6, device) * y).float() * sometimes(n, 0.85, device)
    crest = torch.exp(-off.abs() ** uniform(n, 1.5, 6, device)) * there
    return crest, off.clamp(-2, 2) * torch.exp(-(off**2)) * 1.6 * there


def fans(n, rows, columns, x, y, device):
    """Bare, dense, middling and light between borders that are random curves across the deck, in a random order of fan shapes."""
    wide = uniform(n, 0.4, 0.6, device)
    start = uniform(n, -0.15, 0.15, device)
    power = uniform(n, 0.6, 1.6, device)
    along = (x - start).clamp(min=1e-3) ** power
    fan = torch.atan2(y * wide * uniform(n, 0.7, 2.5, device), along) / (math.pi / 2)
    fan = fan + torch.where(x < start, 0.4 * (start - x), torch.zeros_like(x))
    straight = (y + uniform(n, 0.1, 0.9, device) * (1 - x)) / 1.6  # bands that run aslant all over the deck
    place = torch.where(sometimes(n, 0.25, device).bool(), straight, fan)
    place = place + 0.02 * smooth_noise(n, 1, rows, columns, 4, 6, device) * uniform(n, 0, 1.5, device)
    place = place + smooth_noise(n, 1, rows, columns, 60, 24, device) * uniform(n, 0, 0.012, device)
    borders = [uniform(n, 0.0, 0.15, device)]
    narrow = 1 - sometimes(n, 0.5, device) * uniform(n, 0.4, 0.85, device)  # a poor feed: thin bands, light close below
    for low, high in ((0.02, 0.22), (0.02, 0.3)):
        borders.append(borders[-1] + narrow * uniform(n, low, high, device))
    borders.append(borders[-1] + uniform(n, 0.2, 0.9, device))
    gap = uniform(n, 0, 0.03, device) * sometimes(n, 0.3, device)
    truth = torch.ones(n, 1, rows, columns, dtype=torch.long, device=device)
    for k, (name, share) in enumerate(((2, 0.9), (3, 0.8), (4, 0.95))):
        here = sometimes(n, share, device).bool()
        truth = torch.where((place > borders[k] + gap) & (place <= borders[k + 1]) & here, name, truth)
    alone = sometimes(n, 0.06, device).bool()  # one material over the whole deck
    return torch.where(alone, torch.where(place > borders[0], 4, 1), truth)


def films(n, rows, columns, device):
    """Where the film has broken, on every second deck: blobs, some drawn out into tongues down the slope."""
    blob = smooth_noise(n, 1, rows, columns, 5, 8, device) + 0.3 * smooth_noise(n, 1, rows, columns, 30, 50, device)
    tongues = smooth_noise(n, 1, rows, columns, 3, 60, device) * uniform(n, 0, 0.8, device) * sometimes(n, 0.4, device)
    return (blob + tongues > uniform(n, 1.2, 2.3, device)) & sometimes(n, 0.5, device).bool()


def colours(n, device):
    """Of deck, dense, middling and light, n × 4 × 3: any, but no two so near that nobody could tell them."""
    bases = torch.rand(n, 4, 3, device=device) * 0.8 + 0.08
    vivid = torch.rand(n, 4, 1, device=device)
    vivid = torch.cat([vivid[:, :1], vivid[:, 1:] ** 2], 1)  # decks are painted, ores seldom bright
    bases = bases.mean(2, keepdim=True) + (bases - bases.mean(2, keepdim=True)) * vivid * 0.9
    darker = torch.rand(n, 1, device=device) < 0.6
    bases[:, 1] = torch.where(darker, bases[:, 1] * 0.45, bases[:, 1])
    between = uniform(n, 0.2, 0.8, device, (1,))
    mixed = bases[:, 1] * between + bases[:, 3] * (1 - between) + torch.randn(n, 3, device=device) * 0.03
    bases[:, 2] = torch.where(torch.rand(n, 1, device=device) < 0.6, mixed, bases[:, 2])
    least = uniform(n, 0.15, 0.5, device, (1,))  # hard to tell on some decks, easy on most
    for _ in range(5):
        for a, b in ((1, 0), (3, 0), (2, 0), (1, 3), (2, 3), (2, 1)):
            off = bases[:, a] - bases[:, b]
            near = (off.abs().sum(1, keepdim=True) < least).float()
            away = torch.where(off.sum(1, keepdim=True).abs() > 0.03, off.sum(1, keepdim=True).sign(), torch.where(bases[:, b].mean(1, keepdim=True) > 0.45, -1.0, 1.0))
            bases[:, a] = (bases[:, a] + near * away * 0.1).clamp(0.03, 0.95)
    return bases


def thinned(truth, known, x, y, device):
    """Cover of dense, middling and light: soft rims, streaks along the flow, beds that thin on their way down to a few grains.

    Where the truth is not known there is what lies around.
    """
    n, _, rows, columns = truth.shape
    hot = (truth == torch.arange(2, 5, device=device).view(1, 3, 1, 1)) * known
    wide = (3, 5, 9, 15)[torch.randint(4, ()).item()]
    cover, around = (F.avg_pool2d(plane, wide, 1, wide // 2, count_include_pad=False) for plane in (hot, known))
    cover = cover / around.clamp(min=1e-3)
    full = uniform(n, 0.75, 1.3, device, (3, 1, 1))
    streaks = smooth_noise(n, 1, rows, columns, 50, 6, device) * uniform(n, 0, 0.3, device)
    patches = smooth_noise(n, 3, rows, columns, 12, 16, device) * uniform(n, 0, 0.3, device, (3, 1, 1)) * sometimes(n, 0.5, device)
    way = (x + y * uniform(n, -0.5, 1, device) - uniform(n, 0.0, 0.7, device)).clamp(min=0)
    fade = 1 - uniform(n, 0, 1.2, device, (3, 1, 1)) * sometimes(n, 0.5, device) * way
    # solids in rows along the riffles with gaps between, more of them farther down
    fine, long = torch.randint(30, 130, ()).item(), torch.randint(4, 40, ()).item()
    rows_of = smooth_noise(n, 1, rows, columns, fine, long, device) + 0.5 * smooth_noise(n, 1, rows, columns, 2 * fine, 3 * long, device)
    open_ = torch.sigmoid((rows_of - uniform(n, -0.2, 2, device) + uniform(n, 0, 2, device) * way) * uniform(n, 2, 8, device))
    gaps = 1 - open_ * uniform(n, 0.3, 1, device) * sometimes(n, 0.5, device)
    return (cover * full * (1 + streaks + patches) * fade * gaps).clamp(0, 1)


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
