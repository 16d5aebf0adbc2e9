/** The same between processes, where several of them work on the same blobs. */
export interface SharedLock {
  /** Until what this answers is called, nobody holds it alone. @throws at the call when it could not be held so long. */
  share(): Promise<() => Promise<void>>;
  /** Until what this answers is called, nobody else holds it. */
  take(): Promise<() => Promise<void>>;
  close(): Promise<void>;
}

/**
 * Keeps removing blobs apart from adding them: a blob that two rows share must not go while the second row is written.
 * Many may add at once; who removes is alone, and goes first among those who wait.
 */
export class Gate {
  readonly #between: SharedLock | null;
  #adding = 0;
  #removing = false;
  #removers: (() => void)[] = [];
  #adders: (() => void)[] = [];

  constructor(between: SharedLock | null = null) {
    this.#between = between;
  }

  async whileAdding<T>(work: () => Promise<T>): Promise<T> {
    if (this.#removing || this.#removers.length > 0) await new Promise<void>((go) => this.#adders.push(go));
    else this.#adding++;
    try {
      const release = await this.#between?.share();
      return await work().finally(release);
    } finally {
      this.#adding--;
      this.#next();
    }
  }

  async whileRemoving<T>(work: () => Promise<T>): Promise<T> {
    if (this.#removing || this.#adding > 0) await new Promise<void>((go) => this.#removers.push(go));
    else this.#removing = true;
    try {
      const release = await this.#between?.take();
      return await work().finally(release);
    } finally {
      this.#removing = false;
      this.#next();
    }
  }

  async close(): Promise<void> {
    await this.#between?.close();
  }

  /** Whoever is let in is counted here, before it wakes. */
  #next(): void {
    if (this.#removing || this.#adding > 0) return;
    const remover = this.#removers.shift();
    if (remover) {
      this.#removing = true;
      remover();
      return;
    }
    this.#adding = this.#adders.length;
    for (const go of this.#adders.splice(0)) go();
  }
}
