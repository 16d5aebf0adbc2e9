import { inside, type PicturePoint, type Size } from "./picture-frame.ts";
import { textWidthPx } from "./svg.ts";

/** A rectangle on the picture, pixels. */
export interface Box {
  readonly x: number;
  readonly y: number;
  readonly width: number;
  readonly height: number;
}

/** Keeps written words inside the picture, off each other and, where asked, off the deck: first come, first placed. */
export class Placer {
  private readonly taken: Box[] = [];
  private readonly size: Size;
  private readonly deck: readonly { x: number; y: number }[];

  /** @param deckOutline  The deck's outline on the picture; empty when there is none. */
  constructor(size: Size, deckOutline: readonly PicturePoint[]) {
    this.size = size;
    this.deck = deckOutline.map(([x, y]) => ({ x, y }));
  }

  /** Keep later words off the smallest box round these points. */
  take(points: readonly PicturePoint[]): void {
    const [xs, ys] = [points.map((p) => p[0]), points.map((p) => p[1])];
    const [x, y] = [Math.min(...xs), Math.min(...ys)];
    this.taken.push({ x, y, width: Math.max(...xs) - x, height: Math.max(...ys) - y });
  }

  /** The first free box for `text` with its middle at one of `wishes`, moved into the picture; it is then taken. */
  placeFree(text: string, fontPx: number, wishes: Iterable<PicturePoint>): Box | null {
    for (const wish of wishes) {
      const box = this.box(text, fontPx, wish);
      if (this.takenPx(box) > 0) continue;
      this.taken.push(box);
      return box;
    }
    return null;
  }

  /** The box for `text`, near the first of `wishes`, that hides least of the deck and of what is written. */
  placeClear(text: string, fontPx: number, wishes: readonly PicturePoint[]): Box {
    const costs = wishes.map((wish, index) => {
      const box = this.box(text, fontPx, wish);
      const area = box.width * box.height;
      return { box, cost: this.takenPx(box) * 6 + this.deckPx(box) * 2 + (area * index) / wishes.length };
    });
    const { box } = costs.reduce((best, other) => (other.cost < best.cost ? other : best));
    this.taken.push(box);
    return box;
  }

  private box(text: string, fontPx: number, [x, y]: PicturePoint): Box {
    const [width, height] = [textWidthPx(text, fontPx), fontPx * 1.2];
    return this.within({ x: x - width / 2, y: y - height / 2, width, height });
  }

  /** The box moved so that all of it lies inside the picture. */
  within(box: Box): Box {
    const [x, y] = this.clamp([box.x, box.y], box.width, box.height);
    return { ...box, x, y };
  }

  /** The nearest place inside the picture for a thing of this size. */
  clamp([x, y]: PicturePoint, width = 0, height = 0): PicturePoint {
    const gap = this.size.widthPx * 0.008;
    return [
      Math.max(gap, Math.min(this.size.widthPx - width - gap, x)),
      Math.max(gap, Math.min(this.size.heightPx - height - gap, y)),
    ];
  }

  /** Pixels of the box that are already written on. */
  takenPx(box: Box): number {
    return this.taken.reduce((sum, other) => sum + overlapPx(box, other), 0);
  }

  /** Pixels of the box that hide the deck, from 12 × 12 samples. */
  deckPx(box: Box): number {
    let hits = 0;
    for (let i = 0; i < 144; i++) {
      const x = box.x + (((i % 12) + 0.5) / 12) * box.width;
      const y = box.y + ((Math.floor(i / 12) + 0.5) / 12) * box.height;
      if (inside(this.deck, x, y)) hits++;
    }
    return (hits / 144) * box.width * box.height;
  }
}

function overlapPx(a: Box, b: Box): number {
  const width = Math.min(a.x + a.width, b.x + b.width) - Math.max(a.x, b.x);
  const height = Math.min(a.y + a.height, b.y + b.height) - Math.max(a.y, b.y);
  return Math.max(0, width) * Math.max(0, height);
}

/** Where the text of a placed box has its middle and its baseline. */
export const textAt = (box: Box): PicturePoint => [box.x + box.width / 2, box.y + box.height * 0.76];
