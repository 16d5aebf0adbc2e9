/** What a bench counts. */
import { readFileSync } from "node:fs";

/** Time of all cores that a process and those it started have taken, seconds; Linux, 100 ticks a second. */
export function coreSecondsOf(pid: number): number {
  const fields = readFileSync(`/proc/${pid}/stat`, "utf8")
    .replace(/^.*\) /, "")
    .split(" ");
  const children = readFileSync(`/proc/${pid}/task/${pid}/children`, "utf8").trim().split(" ").filter(Boolean);
  const own = (Number(fields[11]) + Number(fields[12])) / 100;
  return own + children.reduce((sum, child) => sum + coreSecondsOf(Number(child)), 0);
}

export function pause(ms: number): Promise<void> {
  return new Promise((later) => setTimeout(later, ms));
}

export function quantile(all: readonly number[], share: number): number {
  return all.toSorted((a, b) => a - b)[Math.floor(all.length * share)] ?? 0;
}
