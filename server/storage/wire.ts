import { EventEmitter } from "node:events";

/** What is told to whoever listens just now, in this process or in any other one that works on the same database. */
export interface Wire {
  /** Tell it; nobody waits for it, and what cannot be told is lost. */
  tell(topic: string, message: unknown): void;
  /** @returns stops listening. */
  hear(topic: string, hear: (message: never) => void): () => void;
  close(): Promise<void>;
}

/** Within one process. */
export class OwnWire implements Wire {
  readonly #news = new EventEmitter().setMaxListeners(0);

  tell(topic: string, message: unknown): void {
    this.#news.emit(topic, message);
  }

  hear(topic: string, hear: (message: never) => void): () => void {
    this.#news.on(topic, hear as (message: unknown) => void);
    return () => this.#news.off(topic, hear as (message: unknown) => void);
  }

  async close(): Promise<void> {}
}
