"""Train the two small networks on scenes from feed.ts; PyTorch, one GPU, all cores for the scenes.

    npx esbuild vision/training/feed.ts --bundle --platform=node --format=esm --outfile=feed.mjs
    python3 vision/training/train.py --feed feed.mjs --node node --minutes 9 --out DIR [--resume DIR/checkpoint.pt]

Writes DIR/checkpoint.pt, DIR/log.csv and the weights for TensorFlow.js (see export.py). Seeds of training scenes are odd
and below 2**30; test scenes are even. Seeds are fixed; the order in which cores deliver scenes is not.
"""
import argparse
import csv
import os
import subprocess
import threading
import time

import numpy as np
import torch
import torch.nn.functional as F

from export import export
from looks import roughen, painted
from networks import Classes, Outline

COLUMNS, ROWS, SMALL = 576, 288, 288
FLAT, PHOTO = ROWS * COLUMNS, SMALL * SMALL
RECORD = FLAT * 4 + PHOTO * 3 + 36

parser = argparse.ArgumentParser()
parser.add_argument("--feed", required=True)
parser.add_argument("--node", default="node")
parser.add_argument("--minutes", type=float, default=9)
parser.add_argument("--whole", type=float, default=18, help="minutes of all runs together, for the learning rate")
parser.add_argument("--out", required=True)
parser.add_argument("--resume")
parser.add_argument("--textures", help="640 × 640 grey photographs of sand, wood and the like, end to end, for real fine structure")
parser.add_argument("--pool", type=int, default=16000)
parser.add_argument("--batch", type=int, default=32)
parser.add_argument("--rate", type=float, default=3e-3)
args = parser.parse_args()
start = time.time()
torch.manual_seed(7)
os.makedirs(args.out, exist_ok=True)

state = torch.load(args.resume, map_location="cpu", weights_only=False) if args.resume else None
done = state["minutes"] if state else 0.0
pool = np.empty((args.pool, RECORD), np.uint8)
filled = [0]
lock = threading.Lock()
cores = max(1, (os.cpu_count() or 2) - 3)


def fill(core: int) -> None:
    first = 1 + 2 * core + (2**22 * int(done * 10) if state else 0)
    process = subprocess.Popen(["nice", args.node, args.feed, str(first), str(2 * cores)], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, bufsize=RECORD)
    while True:
        record = process.stdout.read(RECORD)
        if len(record) < RECORD:
            print("a feed stopped", flush=True)
            return
        with lock:
            at = filled[0] % args.pool
            filled[0] += 1
        pool[at] = np.frombuffer(record, np.uint8)


for core in range(cores):
    threading.Thread(target=fill, args=(core,), daemon=True).start()

device = torch.device("cuda:0")
other = torch.device("cuda:1" if torch.cuda.device_count() > 1 else "cuda:0")
# channels last: depthwise convolutions are more than three times faster so
classes = Classes().to(device, memory_format=torch.channels_last)
outline = Outline().to(other, memory_format=torch.channels_last)
optimisers = [torch.optim.AdamW(net.parameters(), lr=args.rate, weight_decay=1e-4) for net in (classes, outline)]
averages = [torch.optim.swa_utils.AveragedModel(net, multi_avg_fn=torch.optim.swa_utils.get_ema_multi_avg_fn(0.998), use_buffers=True) for net in (classes, outline)]
if state:
    for net, average, optimiser, saved in zip((classes, outline), averages, optimisers, state["nets"]):
        net.load_state_dict(saved["net"])
        average.load_state_dict(saved["average"])
        optimiser.load_state_dict(saved["optimiser"])


def batch():
    have = min(filled[0], args.pool) - cores
    rows = np.random.randint(0, have, args.batch)
    bytes_ = torch.from_numpy(pool[rows]).to(device, non_blocking=True)
    flat = bytes_[:, : FLAT * 3].view(-1, ROWS, COLUMNS, 3).permute(0, 3, 1, 2).float() / 255
    truth = bytes_[:, FLAT * 3 : FLAT * 4].view(-1, ROWS, COLUMNS).long()
    photo = bytes_[:, FLAT * 4 : FLAT * 4 + PHOTO * 3].view(-1, SMALL, SMALL, 3).permute(0, 3, 1, 2).float() / 255
    tail = bytes_[:, -36:].contiguous()
    corners = tail[:, :32].contiguous().view(torch.float32).view(-1, 4, 2)
    return flat, truth, photo.to(other), corners.to(other), tail[:, 32].float()


def place_channels(flat, truth):
    n = flat.shape[0]
    seen = (flat.amax(1, keepdim=True) > 0).float()
    ys = ((torch.arange(ROWS, device=device) + 0.5) / ROWS).view(1, 1, ROWS, 1).expand(n, 1, ROWS, COLUMNS)
    xs = ((torch.arange(COLUMNS, device=device) + 0.5) / COLUMNS).view(1, 1, 1, COLUMNS).expand(n, 1, ROWS, COLUMNS)
    return torch.cat([(flat - 0.5) * seen, seen, xs, ys], 1).contiguous(memory_format=torch.channels_last)


weights = torch.tensor([0.0, 1.0, 1.6, 1.4, 1.0, 3.0], device=device)


def classes_loss(flat, truth, running):
    logits, state_logit = classes(place_channels(flat, truth))
    logits = logits.float()
    known = truth > 0
    cross = F.cross_entropy(logits, (truth - 1).clamp(min=0), weight=weights[1:], reduction="none")
    cross = (cross * known).sum() / known.sum().clamp(min=1)
    share = logits.softmax(1) * known.unsqueeze(1)
    hot = F.one_hot((truth - 1).clamp(min=0), 5).permute(0, 3, 1, 2) * known.unsqueeze(1)
    overlap = (share * hot).sum((0, 2, 3))
    dice = 1 - ((2 * overlap + 1) / (share.sum((0, 2, 3)) + hot.sum((0, 2, 3)) + 1)).mean()
    told = running >= 0
    deck_state = F.binary_cross_entropy_with_logits(state_logit.float().view(-1)[told], running[told]) if told.any() else 0
    return cross + 0.5 * dice + 0.05 * deck_state, cross


def heat(corners, size):
    grid = (torch.arange(size, device=corners.device) + 0.5) / size
    dx = grid.view(1, 1, 1, size) - corners[..., 0].view(-1, 4, 1, 1)
    dy = grid.view(1, 1, size, 1) - corners[..., 1].view(-1, 4, 1, 1)
    return torch.exp(-(dx**2 + dy**2) / (2 * (1.3 / size) ** 2))


def inside(corners, size):
    grid = (torch.arange(size, device=corners.device) + 0.5) / size
    x, y = grid.view(1, 1, size), grid.view(1, size, 1)
    signs = []
    for k in range(4):
        a, b = corners[:, k].view(-1, 2, 1, 1), corners[:, (k + 1) % 4].view(-1, 2, 1, 1)
        signs.append((b[:, 0] - a[:, 0]) * (y - a[:, 1]) - (b[:, 1] - a[:, 1]) * (x - a[:, 0]))
    signs = torch.stack(signs)
    return ((signs > 0).all(0) | (signs < 0).all(0)).float()


def outline_loss(photo, corners, there):
    out = outline((photo - 0.5).contiguous(memory_format=torch.channels_last)).float()
    size = out.shape[-1]
    target = heat(corners, size) * there.view(-1, 1, 1, 1)
    spread = F.binary_cross_entropy_with_logits(out[:, :4], target, reduction="none")
    focus = (spread * (1 + 30 * target)).mean()
    in_frame = (((corners > 0) & (corners < 1)).all(-1) & there.view(-1, 1).bool()).float()
    chance = out[:, :4].flatten(2).softmax(-1).view(-1, 4, size, size)
    grid = (torch.arange(size, device=corners.device) + 0.5) / size
    at = torch.stack([(chance.sum(2) * grid).sum(-1), (chance.sum(3) * grid).sum(-1)], -1)
    away = ((at - corners).abs().sum(-1) * in_frame).sum() / in_frame.sum().clamp(min=1)
    mask = F.binary_cross_entropy_with_logits(out[:, 4], inside(corners, size) * there.view(-1, 1, 1))
    return focus * 2 + away + mask, away


while filled[0] < max(600, 6 * args.batch):
    time.sleep(0.2)
print(f"first {filled[0]} scenes after {time.time() - start:.0f} s", flush=True)
log = csv.writer(open(os.path.join(args.out, "log.csv"), "a", buffering=1))
step, shown, away = 0, time.time(), torch.zeros(())
textures = list(torch.from_numpy(np.fromfile(args.textures, np.uint8).reshape(-1, 640, 640)).to(device)) if args.textures else []
far_textures = [t.to(other) for t in textures]
print(f"ready after {time.time() - start:.0f} s", flush=True)
begun = time.time()
while True:
    if step < 20 and time.time() - begun > 90:
        raise SystemExit(f"too slow: {step} steps in 90 s")
    minutes = done + (time.time() - start) / 60
    if minutes - done > args.minutes:
        break
    part = min(1.0, minutes / args.whole)
    rate = float(args.rate * (min(1.0, step / 200 + (1 if state else 0.02)) * (0.5 * (1 + np.cos(np.pi * part)) * 0.99 + 0.01)))
    for optimiser in optimisers:
        for group in optimiser.param_groups:
            group["lr"] = rate
    flat, truth, photo, corners, running = batch()
    with torch.no_grad():
        flat, truth = roughen(flat, truth, textures)
        if step % 6 == 0:
            flat, truth, running = painted(args.batch, ROWS, COLUMNS, device, textures)
    with torch.autocast("cuda", dtype=torch.bfloat16):
        loss, shown_loss = classes_loss(flat, truth, running)
    optimisers[0].zero_grad(set_to_none=True)
    loss.backward()
    torch.nn.utils.clip_grad_norm_(classes.parameters(), 1.0)
    optimisers[0].step()
    averages[0].update_parameters(classes)
    if step % 2 == 0:
        with torch.no_grad():
            photo, _ = roughen(photo, None, far_textures)
            there = (torch.rand(photo.shape[0], device=other) > 0.06).float()
            # no deck: the deck's own place is filled with a far-blurred copy of the picture rolled aside
            hole = F.interpolate(inside(corners, 96).unsqueeze(1), size=SMALL) * (1 - there).view(-1, 1, 1, 1)
            hole = F.max_pool2d(hole, 21, 1, 10)
            photo = photo * (1 - hole) + hole * photo.roll(SMALL // 2, -1).flip(-2)
        with torch.autocast("cuda", dtype=torch.bfloat16):
            loss, away = outline_loss(photo, corners, there)
        optimisers[1].zero_grad(set_to_none=True)
        loss.backward()
        torch.nn.utils.clip_grad_norm_(outline.parameters(), 1.0)
        optimisers[1].step()
        averages[1].update_parameters(outline)
    step += 1
    if step % 50 == 1:
        row = [step, round(minutes, 2), filled[0], round(shown_loss.item(), 4), round(away.item(), 4), round(float(rate), 6)]
        log.writerow(row)
        if time.time() - shown > 20:
            print(row, flush=True)
            shown = time.time()

torch.save({"minutes": done + args.minutes, "nets": [{"net": n.state_dict(), "average": a.state_dict(), "optimiser": o.state_dict()} for n, a, o in zip((classes, outline), averages, optimisers)]}, os.path.join(args.out, "checkpoint.pt"))
export(averages[0].module.eval(), averages[1].module.eval(), args.out)
print("steps", step, "scenes", filled[0], flush=True)
