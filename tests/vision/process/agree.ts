import { expect } from "vitest";

/** The value lies within a share of what is expected: 0.001 is 0.1 %. */
export function expectAgree(actual: number, expected: number, share: number): void {
  expect(Math.abs(actual - expected) / Math.abs(expected), `${actual} against ${expected}`).toBeLessThanOrEqual(share);
}
