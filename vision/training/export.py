"""Weights for TensorFlow.js: batch norm folded, float16, one binary and one list of shapes a network, with a worked example; and back."""
import json
import os

import numpy as np
import torch

from networks import Conv, Pointwise, Separable

FOLDED = (Conv, Pointwise, Separable)

SHAPES = {"classes": (1, 6, 288, 576), "outline": (1, 3, 320, 320), "way-round": (1, 3, 96, 96)}


def settle(module):
    """Fold batch norm away and round every weight to float16, so that what is exported is what the example was made with."""
    for child in module.modules():
        if isinstance(child, FOLDED):
            conv = child.point if isinstance(child, Separable) else child.conv
            scale = child.norm.weight / torch.sqrt(child.norm.running_var + child.norm.eps)
            child.norm.bias.data = child.norm.bias - child.norm.running_mean * scale
            conv.weight.data = conv.weight * scale[:, None, None, None]
            child.norm.running_mean.zero_()
            child.norm.running_var.fill_(1 - child.norm.eps)
            child.norm.weight.data.fill_(1)
    for weight in module.parameters():
        weight.data = weight.half().float()


def tensors(module, prefix=""):
    """Named arrays in TensorFlow.js layout, in the order in which the TypeScript side builds its layers."""
    out = []
    for name, child in module.named_children():
        path = f"{prefix}{name}"
        if isinstance(child, FOLDED):
            if isinstance(child, Separable):
                out.append((f"{path}/depth", child.depth.weight.permute(2, 3, 0, 1)))
            conv = child.point if isinstance(child, Separable) else child.conv
            out.append((f"{path}/kernel", conv.weight.permute(2, 3, 1, 0)))
            out.append((f"{path}/bias", child.norm.bias))
        elif isinstance(child, torch.nn.Linear):
            out += [(f"{path}/kernel", child.weight.t()), (f"{path}/bias", child.bias)]
        elif isinstance(child, torch.nn.Conv2d):
            out += [(f"{path}/kernel", child.weight.permute(2, 3, 1, 0)), (f"{path}/bias", child.bias)]
        else:
            out += tensors(child, f"{path}/")
    return out


def export(name, net, folder):
    net = net.float().to("cpu").eval()
    shape = SHAPES[name]
    with torch.no_grad():
        settle(net)
    listed = [(path, t.detach().float().cpu().numpy()) for path, t in tensors(net)]
    with open(os.path.join(folder, f"{name}.bin"), "wb") as file:
        for _, array in listed:
            file.write(np.ascontiguousarray(array, dtype=np.float16).tobytes())
    example = torch.sin(torch.arange(np.prod(shape), dtype=torch.float32) * 0.37).view(shape) * 0.5
    with torch.no_grad():
        flat = net(example).flatten().numpy()
    at = list(range(0, flat.size, max(1, flat.size // 200)))
    with open(os.path.join(folder, f"{name}.json"), "w") as file:
        json.dump({"tensors": [{"name": p, "shape": list(a.shape)} for p, a in listed], "example": {"at": at, "given": [round(float(flat[i]), 4) for i in at]}}, file)
    print(name, sum(a.size for _, a in listed), "weights", flush=True)


@torch.no_grad()
def take_up(net, name, folder, look):
    """Go on from exported weights: read them, and unfold batch norm so that on what `look` shows the net, it gives what it gave.

    look: runs the net once on a usual batch. Layers, and outputs of a head, that were not
    exported keep their own.
    """
    with open(os.path.join(folder, f"{name}.json")) as file:
        listed = json.load(file)["tensors"]
    values, at, saved = np.fromfile(os.path.join(folder, f"{name}.bin"), np.float16), 0, {}
    for entry in listed:
        count = int(np.prod(entry["shape"]))
        saved[entry["name"]] = torch.from_numpy(values[at : at + count].astype(np.float32)).view(entry["shape"])
        at += count
    for path, tensor in tensors(net):
        if path in saved:
            given = saved[path].to(tensor.device)
            tensor[tuple(slice(n) for n in given.shape)] = given
    norms = [
        module
        for path, module in net.named_modules()
        if isinstance(module, torch.nn.BatchNorm2d) and f"{path.rpartition('.')[0].replace('.', '/')}/bias" in saved
    ]

    def unfold(norm, given):
        x = given[0].float()
        mean, variance = x.mean((0, 2, 3)), x.var((0, 2, 3), unbiased=False)
        norm.running_mean.copy_(mean)
        norm.running_var.copy_(variance)
        norm.weight.copy_(torch.sqrt(variance + norm.eps))
        norm.bias.add_(mean)

    hooks = [norm.register_forward_pre_hook(unfold) for norm in norms]
    look()
    for hook in hooks:
        hook.remove()
