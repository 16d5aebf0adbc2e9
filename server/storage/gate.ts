/**
 * Keeps removing blobs apart from adding them: a blob that two rows share must not go while the second row is written.
 * Many may add at once; who removes is alone, and goes first among those who wait.
 */
export class Gate {
  #adding = 0;
  #removing = false;
  #removers: (() => void)[] = [];
  #adders: (() => void)[] = [];

  async whileAdding<T>(work: () => Promise<T>): Promise<T> {
    if (this.#removing || this.#removers.length > 0) await new Promise<void>((go) => this.#adders.push(go));
    else this.#adding++;
    try {
      return await work();
    } finally {
      this.#adding--;
      this.#next();
    }
  }

  async whileRemoving<T>(work: () => Promise<T>): Promise<T> {
    if (this.#removing || this.#adding > 0) await new Promise<void>((go) => this.#removers.push(go));
    else this.#removing = true;
    try {
      return await work();
    } finally {
      this.#removing = false;
      this.#next();
    }
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
