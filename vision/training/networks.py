"""The three networks, as PyTorch. Only what TensorFlow.js layers have; batch norm is folded away when exported."""
import torch
from torch import nn
import torch.nn.functional as F


class Conv(nn.Module):
    """Convolution 3 × 3 with stride 2, batch norm, ReLU; padded below and to the right, as TensorFlow's `same`."""

    def __init__(self, taken: int, given: int):
        super().__init__()
        self.conv = nn.Conv2d(taken, given, 3, stride=2, bias=False)
        self.norm = nn.BatchNorm2d(given)

    def forward(self, x):
        return F.relu(self.norm(self.conv(F.pad(x, (0, 1, 0, 1)))))


class Separable(nn.Module):
    """Depthwise 3 × 3 (dilated), then pointwise with batch norm and ReLU."""

    def __init__(self, taken: int, given: int, dilation: int = 1):
        super().__init__()
        self.depth = nn.Conv2d(taken, taken, 3, padding=dilation, dilation=dilation, groups=taken, bias=False)
        self.point = nn.Conv2d(taken, given, 1, bias=False)
        self.norm = nn.BatchNorm2d(given)

    def forward(self, x):
        return F.relu(self.norm(self.point(self.depth(x))))


class Pointwise(nn.Module):
    """Convolution 1 × 1 with batch norm."""

    def __init__(self, taken: int, given: int):
        super().__init__()
        self.conv = nn.Conv2d(taken, given, 1, bias=False)
        self.norm = nn.BatchNorm2d(given)

    def forward(self, x):
        return self.norm(self.conv(x))


HEADS = 4


class Attend(nn.Module):
    """Each place weighs every place of the halved picture by how its question fits what is offered there; a new one adds nothing yet."""

    def __init__(self, width: int, inner: int = 128):
        super().__init__()
        self.ask = Pointwise(width, inner)
        self.offer = Pointwise(width, 2 * inner)
        self.tell = nn.Conv2d(inner, width, 1)
        nn.init.zeros_(self.tell.weight)
        nn.init.zeros_(self.tell.bias)

    def forward(self, x):
        n, _, rows, columns = x.shape

        def by_head(planes):
            return planes.flatten(2).unflatten(1, (HEADS, -1)).transpose(2, 3)

        keys, values = self.offer(F.avg_pool2d(x, 2)).chunk(2, 1)
        told = F.scaled_dot_product_attention(by_head(self.ask(x)), by_head(keys), by_head(values))
        return x + self.tell(told.transpose(2, 3).reshape(n, -1, rows, columns))


class UNet(nn.Module):
    """Halved at once, pooled down, the picture's mean added at the bottom, bilinear (half-pixel) up with skips to half size.

    attends: after how many pairs of the bottom's four layers each place looks at all others.
    deeper: whether a third layer adds to each pair, but at half size.
    """

    def __init__(self, taken: int, widths: list[int], attends: int = 0, deeper: bool = False):
        super().__init__()
        self.first = Conv(taken, widths[0])

        def layers(k, before):
            more = [little(Separable(widths[k], widths[k]))] if deeper and k else []
            return nn.ModuleList([Separable(before, widths[k]), Separable(widths[k], widths[k]), *more])

        self.down = nn.ModuleList(layers(k, widths[max(0, k - 1)]) for k in range(len(widths)))
        last = widths[-1]
        self.whole = nn.Linear(last, last)
        self.bottom = nn.ModuleList([Separable(last, last), Separable(last, last, 2), Separable(last, last, 4), Separable(last, last)])
        self.attend = nn.ModuleList(Attend(last) for _ in range(attends))
        self.up = nn.ModuleList(layers(k, widths[k + 1] + widths[k]) for k in range(len(widths) - 1))

    def forward(self, x):
        x = self.first(x)
        skips = []
        for k, pair in enumerate(self.down):
            if k:
                x = F.max_pool2d(x, 2)
            x = through(pair, x)
            skips.append(x)
        x = x + F.relu(self.whole(x.mean((2, 3))))[:, :, None, None]
        for k, layer in enumerate(self.bottom):
            x = x + layer(x)
            if k % 2 and k // 2 < len(self.attend):
                x = self.attend[k // 2](x)
        for k in reversed(range(len(self.up))):
            x = F.interpolate(x, scale_factor=2, mode="bilinear", align_corners=False)
            x = torch.cat([x, skips[k]], 1)
            x = through(self.up[k], x)
        return x


def through(layers, x):
    """One after the other; a third adds to what the second gave."""
    for k, layer in enumerate(layers):
        x = x + layer(x) if k == 2 else layer(x)
    return x


def little(layer: Separable):
    """As a new layer of trained ones begins: it adds next to nothing, but can learn (at 0 its ReLU would not)."""
    nn.init.zeros_(layer.norm.weight)
    nn.init.constant_(layer.norm.bias, 0.01)
    return layer


class Classes(nn.Module):
    """Flat deck (red, green, blue − 0.5; seen; x; y), 288 × 576 → logits of the five classes and of no deck to be seen, at 144 × 288."""

    def __init__(self):
        super().__init__()
        self.body = UNet(6, [32, 64, 128, 256], attends=2, deeper=True)
        self.head = nn.Conv2d(32, 6, 1)

    def forward(self, x):
        return self.head(self.body(x))


class Outline(nn.Module):
    """Photo − 0.5, 320 × 320 → logits at 160 × 160: a plane for each outline corner, in its order; the deck; its sides."""

    def __init__(self):
        super().__init__()
        self.body = UNet(3, [24, 48, 96, 160, 192])
        self.head = nn.Conv2d(24, 6, 1)

    def forward(self, x):
        return self.head(self.body(x))


class WayRound(nn.Module):
    """Deck on a square, − 0.5, 96 × 96 → eight logits: which turn or mirroring of the deck's own picture this is."""

    def __init__(self):
        super().__init__()
        self.first = Conv(3, 24)
        self.layers = nn.ModuleList([Separable(24, 48), Separable(48, 48), Separable(48, 96), Separable(96, 96), Separable(96, 128), Separable(128, 128)])
        self.inner = nn.Linear(128 * 36, 96)
        self.head = nn.Linear(96, 8)

    def forward(self, x):
        x = self.first(x)
        for k, layer in enumerate(self.layers):
            x = layer(x)
            if k % 2 == 1:
                x = F.max_pool2d(x, 2)
        return self.head(F.relu(self.inner(x.permute(0, 2, 3, 1).flatten(1))))
