/** A language that things are said in: words by name, numbers and times as it writes them. */
export interface Speech {
  say(key: string, values?: Readonly<Record<string, string | number>>): string;
  /** Whether there are words of this name. */
  knows(key: string): boolean;
  /** @param least, most  Digits after the decimal mark. */
  number(value: number, least?: number, most?: number): string;
  when(time: Date): string;
}

/** A value with its standard error, where it has one, to as many digits as that bears; it never breaks before the sign. */
export function measured(speech: Speech, value: number, error: number | null, unit: string): string {
  const told = unit && `\u00a0${unit}`;
  if (error === null || !(error > 0)) {
    const digits = Math.max(0, 3 - Math.ceil(Math.log10(Math.max(1e-6, Math.abs(value)))));
    return `${speech.number(value, 0, Math.min(8, digits))}${told}`;
  }
  const digits = Math.min(6, Math.max(0, 1 - Math.floor(Math.log10(error))));
  return `${speech.number(value, digits)}\u00a0±\u00a0${speech.number(error, digits)}${told}`;
}

/** A photo's time, as cameras write it, in the language's own way. */
export function timeOf(speech: Speech, at = ""): string {
  const time = new Date(at);
  return Number.isNaN(time.getTime()) ? at : speech.when(time);
}
