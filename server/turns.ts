/** Lets at most `places` in at once, first come first served. */
export class Turns {
  #free: number;
  #waiting: (() => void)[] = [];

  constructor(places: number) {
    this.#free = places;
  }

  /** Wait for a place. @returns gives it back. @throws {unknown} the signal's reason when it aborts before. */
  async take(signal?: AbortSignal): Promise<() => void> {
    signal?.throwIfAborted();
    if (this.#free > 0) this.#free--;
    else await this.#queue(signal);
    let given = false;
    return () => {
      if (given) return;
      given = true;
      const next = this.#waiting.shift();
      if (next) next();
      else this.#free++;
    };
  }

  #queue(signal?: AbortSignal): Promise<void> {
    return new Promise((resolve, reject) => {
      const leave = () => {
        this.#waiting = this.#waiting.filter((each) => each !== enter);
        reject(signal?.reason);
      };
      const enter = () => {
        signal?.removeEventListener("abort", leave);
        resolve();
      };
      this.#waiting.push(enter);
      signal?.addEventListener("abort", leave, { once: true });
    });
  }
}
