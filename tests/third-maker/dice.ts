/** Seeded chance: the same seed gives the same picture, number by number. */
export class Dice {
  #a: number;
  #b: number;
  #c: number;
  #d = 1;

  /** @param seed  Any whole number; `topic` gives streams that do not disturb each other. */
  constructor(
    readonly seed: number,
    readonly topic = "",
  ) {
    let hash = 2166136261;
    for (const letter of `${seed}/${topic}`) hash = Math.imul(hash ^ letter.charCodeAt(0), 16777619);
    hash = Math.imul(hash ^ (hash >>> 16), 0x7feb352d);
    hash = Math.imul(hash ^ (hash >>> 15), 0x846ca68b);
    [this.#a, this.#b, this.#c] = [hash, Math.imul(hash, 0x85ebca6b), Math.imul(hash ^ 0x27d4eb2f, 0xc2b2ae35)];
    for (let i = 0; i < 16; i++) this.unit();
  }

  /** A stream of its own for one topic. */
  on(topic: string): Dice {
    return new Dice(this.seed, `${this.topic}/${topic}`);
  }

  /** 0 ≤ number < 1. Method: sfc32 of PractRand (public domain; from memory). */
  unit(): number {
    const sum = (((this.#a + this.#b) | 0) + this.#d) | 0;
    this.#d = (this.#d + 1) | 0;
    this.#a = this.#b ^ (this.#b >>> 9);
    this.#b = (this.#c + (this.#c << 3)) | 0;
    this.#c = (((this.#c << 21) | (this.#c >>> 11)) + sum) | 0;
    return (sum >>> 0) / 4294967296;
  }

  between(low: number, high: number): number {
    return low + (high - low) * this.unit();
  }

  chance(share: number): boolean {
    return this.unit() < share;
  }

  /** A whole number, both ends possible. */
  whole(low: number, high: number): number {
    return Math.floor(this.between(low, high + 1));
  }

  pick<T>(list: readonly T[]): T {
    return list[Math.floor(this.unit() * list.length)]!;
  }

  /** Mean 0, standard deviation 1 (Box-Muller). */
  normal(): number {
    return Math.sqrt(-2 * Math.log(1 - this.unit())) * Math.cos(2 * Math.PI * this.unit());
  }
}
