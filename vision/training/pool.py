"""Scenes from feed.ts, kept in one memory-mapped file that every training process reads."""
import os
import queue
import subprocess
import threading
import time

import numpy as np
import torch

COLUMNS, ROWS, SMALL, SQUARE = 576, 288, 320, 96
FLAT = ROWS * COLUMNS
STARTS = np.cumsum([0, FLAT * 3, FLAT, SMALL * SMALL * 3, SQUARE * SQUARE * 3, 32, 4]).tolist()
RECORD = STARTS[-1]


def open_pool(folder, size):
    """(records, counter): counter[0] records have come so far; later ones overwrite the oldest."""
    mode = "r+" if os.path.exists(f"{folder}/pool") else "w+"
    pool = np.memmap(f"{folder}/pool", np.uint8, mode, shape=(size, RECORD))
    counter = np.memmap(f"{folder}/counter", np.int64, mode, shape=(1,))
    return pool, counter


def fill_pool(folder, size, feed, node, first_seed):
    """Start a feed on each core and keep their records as they come; returns at once."""
    pool, counter = open_pool(folder, size)
    lock = threading.Lock()
    cores = max(1, (os.cpu_count() or 2) - 4)

    def fill(core):
        first = first_seed + 2 * core
        process = subprocess.Popen(["nice", node, feed, str(first), str(2 * cores)], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, bufsize=RECORD)
        while True:
            record = process.stdout.read(RECORD)
            if len(record) < RECORD:
                print("a feed stopped", flush=True)
                return
            with lock:
                at = int(counter[0]) % size
                pool[at] = np.frombuffer(record, np.uint8)
                counter[0] += 1

    for core in range(cores):
        threading.Thread(target=fill, args=(core,), daemon=True).start()


def batches(folder, size, count, parts, device, least, seed):
    """Without end: for each of `parts` (0 flat, 1 classes, 2 photo, 3 square, 4 corners) a tensor of `count` random records."""
    pool, counter = open_pool(folder, size)
    while counter[0] < least:
        time.sleep(0.2)
    ready = queue.Queue(4)

    def gather():
        random = np.random.default_rng(seed)
        while True:
            rows = random.integers(0, min(int(counter[0]), size), count)
            out = []
            for part in parts:
                start, end = STARTS[part], STARTS[part + 1]
                bytes_ = torch.empty((count, end - start), dtype=torch.uint8, pin_memory=True)
                into = bytes_.numpy()
                for k, row in enumerate(rows):
                    into[k] = pool[row, start:end]
                out.append(bytes_)
            ready.put(out)

    threading.Thread(target=gather, daemon=True).start()
    while True:
        yield [shaped(part, bytes_.to(device, non_blocking=True)) for part, bytes_ in zip(parts, ready.get())]


def shaped(part, bytes_):
    if part == 1:
        return bytes_.view(-1, ROWS, COLUMNS).long()
    if part == 4:
        return bytes_.view(torch.float32).view(-1, 4, 2)
    rows, columns = {0: (ROWS, COLUMNS), 2: (SMALL, SMALL), 3: (SQUARE, SQUARE)}[part]
    return bytes_.view(-1, rows, columns, 3).permute(0, 3, 1, 2).float() / 255
