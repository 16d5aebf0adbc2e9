"""Train the three small networks on scenes from feed.ts; PyTorch, any number of GPUs (spare ones help the first network), all cores for the scenes.

    npx esbuild vision/training/feed.ts --bundle --platform=node --format=esm --outfile=feed.mjs
    python3 vision/training/train.py --feed feed.mjs --node node --minutes 22 --out DIR [--resume DIR | --begin vision/model --rate 1e-3]

Writes DIR/NAME.pt (to resume from), DIR/NAME.csv and the weights for TensorFlow.js (see export.py) for classes, outline and
way-round. Seeds of training scenes are odd and below 2**30; test scenes are even. Seeds are fixed; the order in which cores
deliver scenes is not.
"""
import argparse
import copy
import csv
import os
import tempfile
import time

import numpy as np
import torch

from export import export, take_up
from lessons import learn_classes, learn_outline, learn_way_round
from networks import Classes, Outline, WayRound
from pool import batches, fill_pool

# network, lesson, parts of a record, batch
COURSES = {
    "classes": (Classes, learn_classes, (0, 1), 64),
    "outline": (Outline, learn_outline, (2, 4), 48),
    "way-round": (WayRound, learn_way_round, (3,), 256),
}


def together(minutes, device, group):
    """The first process's clock, so that all of a group keep one learning rate and stop at one step."""
    if group > 1:
        clock = torch.tensor(minutes, device=device, dtype=torch.float64)
        torch.distributed.broadcast(clock, 0)
        return clock.item()
    return minutes


def train(name, args, folder, start, rank, gpus):
    """One network from start (or where it was left) to the last minute, on one GPU or, one process each, on several."""
    torch.manual_seed(7 + rank)
    torch.backends.cudnn.benchmark = True
    device = torch.device(f"cuda:{gpus[rank]}")
    torch.cuda.set_device(device)
    if len(gpus) > 1:
        torch.distributed.init_process_group("nccl", init_method=f"file://{folder}/{name}.meeting", rank=rank, world_size=len(gpus))
    make, lesson, parts, count = COURSES[name]
    # channels last: depthwise convolutions are more than three times faster so
    net = make().to(device, memory_format=torch.channels_last)
    textures = list(torch.from_numpy(np.fromfile(args.textures, np.uint8).reshape(-1, 640, 640)).to(device)) if args.textures else []
    ready = batches(folder, args.pool, count, parts, device, args.least, 3 + rank)
    if args.begin:
        take_up(net, name, args.begin, lambda: lesson(net, next(ready), textures, 1))
    optimiser = torch.optim.AdamW(net.parameters(), lr=args.rate, weight_decay=1e-4)
    average = torch.optim.swa_utils.AveragedModel(net, multi_avg_fn=torch.optim.swa_utils.get_ema_multi_avg_fn(0.999), use_buffers=True)
    done = 0.0
    if args.resume:
        state = torch.load(f"{args.resume}/{name}.pt", map_location=device, weights_only=False)
        net.load_state_dict(state["net"])
        average.load_state_dict(state["average"])
        optimiser.load_state_dict(state["optimiser"])
        done = state["minutes"]
    shared = torch.nn.parallel.DistributedDataParallel(net, device_ids=[device.index]) if len(gpus) > 1 else net
    log = csv.writer(open(f"{args.out}/{name}.csv", "a", buffering=1))

    def save(minutes):
        torch.save({"minutes": minutes, "net": net.state_dict(), "average": average.state_dict(), "optimiser": optimiser.state_dict()}, f"{args.out}/{name}.pt")
        export(name, copy.deepcopy(average.module), args.out)

    saved = time.time()
    step, watched = 0, torch.zeros((), device=device)
    for batch in ready:
        if step % 20 == 0:
            minutes = together((time.time() - start) / 60, device, len(gpus))
        if minutes > args.minutes:
            break
        part = min(1.0, (done + minutes) / args.whole)
        rate = args.rate * min(1.0, step / 300 + 0.02) * (0.5 * (1 + np.cos(np.pi * part)) * 0.99 + 0.01)
        for group in optimiser.param_groups:
            group["lr"] = float(rate)
        loss, figure = lesson(shared, batch, textures, step)
        optimiser.zero_grad(set_to_none=True)
        loss.backward()
        torch.nn.utils.clip_grad_norm_(net.parameters(), 1.0)
        optimiser.step()
        average.update_parameters(net)
        watched = 0.98 * watched + 0.02 * figure.detach()
        step += 1
        if rank > 0:
            continue
        if step % 200 == 1:
            row = [name, step, round(minutes, 2), round(loss.item(), 4), round(watched.item(), 4), round(float(rate), 6)]
            log.writerow(row)
            print(*row, flush=True)
        if time.time() - saved > 180:
            save(done + minutes)
            saved = time.time()
    if rank == 0:
        save(done + args.minutes)
        print(name, "steps", step, flush=True)


if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("--feed", required=True)
    parser.add_argument("--node", default="node")
    parser.add_argument("--minutes", type=float, default=9)
    parser.add_argument("--whole", type=float, help="minutes of all runs together, for the learning rate")
    parser.add_argument("--out", required=True)
    parser.add_argument("--resume", help="folder of an earlier run's NAME.pt")
    parser.add_argument("--begin", help="folder of exported weights to go on from, when no NAME.pt is at hand")
    parser.add_argument("--only", nargs="*", default=list(COURSES), help="networks to train")
    parser.add_argument("--first-seed", type=int, default=1, help="odd; another for a resumed run")
    parser.add_argument("--textures", help="640 × 640 grey photographs of sand, wood and the like, end to end, for real fine structure")
    parser.add_argument("--pool", type=int, default=30000)
    parser.add_argument("--least", type=int, default=1200, help="scenes to wait for before the first step")
    parser.add_argument("--rate", type=float, default=3e-3)
    args = parser.parse_args()
    args.whole = args.whole or args.minutes
    start = time.time()
    os.makedirs(args.out, exist_ok=True)
    roomy = "/dev/shm" if os.path.isdir("/dev/shm") and os.statvfs("/dev/shm").f_bavail * os.statvfs("/dev/shm").f_frsize > 60e9 else None
    with tempfile.TemporaryDirectory(dir=roomy) as folder:
        fill_pool(folder, args.pool, args.feed, args.node, args.first_seed)
        context = torch.multiprocessing.get_context("spawn")
        count = torch.cuda.device_count()
        # GPUs are dealt out from the last network on; what is left over all goes to the first
        gpus = {name: [(len(args.only) - 1 - k) % count] for k, name in enumerate(args.only)}
        gpus[args.only[0]] += range(len(args.only), count)
        courses = [context.Process(target=train, args=(name, args, folder, start, rank, gpus[name])) for name in args.only for rank in range(len(gpus[name]))]
        for course in courses:
            course.start()
        for course in courses:
            course.join()
        print("scenes", int(np.memmap(f"{folder}/counter", np.int64, "r")[0]), flush=True)
        os._exit(max(course.exitcode or 0 for course in courses))  # the feeds' threads never end by themselves
