"""The two networks, as PyTorch. Only what TensorFlow.js layers have; batch norm is folded away when exported."""
import torch
from torch import nn
import torch.nn.functional as F


class Conv(nn.Module):
    """Convolution, batch norm, ReLU; `same` padding with stride 1."""

    def __init__(self, taken: int, given: int, size: int = 3):
        super().__init__()
        self.conv = nn.Conv2d(taken, given, size, padding=size // 2, bias=False)
        self.norm = nn.BatchNorm2d(given)

    def forward(self, x):
        return F.relu(self.norm(self.conv(x)))


class Separable(nn.Module):
    """Depthwise 3 × 3 (dilated), then pointwise with batch norm and ReLU."""

    def __init__(self, taken: int, given: int, dilation: int = 1):
        super().__init__()
        self.depth = nn.Conv2d(taken, taken, 3, padding=dilation, dilation=dilation, groups=taken, bias=False)
        self.point = nn.Conv2d(taken, given, 1, bias=False)
        self.norm = nn.BatchNorm2d(given)

    def forward(self, x):
        return F.relu(self.norm(self.point(self.depth(x))))


class UNet(nn.Module):
    """Pooling down, the picture's mean added at the bottom, bilinear (half-pixel) up with skips."""

    def __init__(self, taken: int, widths: list[int], up_to: int):
        super().__init__()
        self.first = Conv(taken, widths[0])
        self.down = nn.ModuleList(nn.ModuleList([Separable(widths[max(0, k - 1)], w), Separable(w, w)]) for k, w in enumerate(widths))
        last = widths[-1]
        self.whole = nn.Linear(last, last)
        self.bottom = nn.ModuleList([Separable(last, last), Separable(last, last, 2), Separable(last, last)])
        self.up = nn.ModuleList(nn.ModuleList([Separable(widths[k + 1] + widths[k], widths[k]), Separable(widths[k], widths[k])]) for k in range(up_to, len(widths) - 1))
        self.up_to = up_to

    def forward(self, x):
        x = self.first(x)
        skips = []
        for k, pair in enumerate(self.down):
            if k:
                x = F.max_pool2d(x, 2)
            for layer in pair:
                x = layer(x)
            skips.append(x)
        mean = x.mean((2, 3))
        x = x + F.relu(self.whole(mean))[:, :, None, None]
        for layer in self.bottom:
            x = x + layer(x)
        deep = x.mean((2, 3))
        for k in reversed(range(len(self.up))):
            level = k + self.up_to
            x = F.interpolate(x, scale_factor=2, mode="bilinear", align_corners=False)
            x = torch.cat([x, skips[level]], 1)
            for layer in self.up[k]:
                x = layer(x)
        return x, deep


class Classes(nn.Module):
    """Flat deck (red, green, blue − 0.5; seen; x; y), 288 × 576 → five class logits a cell, and a logit of running."""

    def __init__(self):
        super().__init__()
        self.body = UNet(6, [16, 32, 64, 128, 224], 0)
        self.head = nn.Conv2d(16, 5, 1)
        self.state = nn.Linear(224, 1)

    def forward(self, x):
        x, deep = self.body(x)
        return self.head(x), self.state(deep)


class Outline(nn.Module):
    """Photo − 0.5, 288 × 288 → logits at 72 × 72: one plane for each outline corner, in its order, and one for the deck."""

    def __init__(self):
        super().__init__()
        self.body = UNet(3, [16, 24, 48, 96, 160], 2)
        self.head = nn.Conv2d(48, 5, 1)

    def forward(self, x):
        return self.head(self.body(x)[0])
