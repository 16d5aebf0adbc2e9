/** Names that one claims for a while, and nobody else meanwhile: in this process or in any other one on the same database. */
export interface Claims {
  /** @returns what gives it back; null while somebody has it. */
  claim(name: string): Promise<(() => Promise<void>) | null>;
  close(): Promise<void>;
}

/** Within one process. */
export class OwnClaims implements Claims {
  readonly #names = new Set<string>();

  async claim(name: string): Promise<(() => Promise<void>) | null> {
    if (this.#names.has(name)) return null;
    this.#names.add(name);
    return async () => void this.#names.delete(name);
  }

  async close(): Promise<void> {}
}
