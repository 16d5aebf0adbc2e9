import { CaseError, type CasePart, packCase, unpackCase } from "./case-zip.ts";
import type { LessonSheet } from "./lesson-sheet.ts";
import type { Sheet } from "./report-sheet.ts";

/** Writes what is taken away from the page, and opens it again, off the main thread: it takes a while. */

const actions = {
  /** What writes PDF is large, and loaded when it is first wanted. */
  writePdf: async (sheet: Sheet) => (await import("./write-pdf.ts")).writePdf(sheet),
  writeLesson: async (sheet: LessonSheet) => (await import("./write-pdf.ts")).writeLesson(sheet),
  packCase: async (parts: readonly CasePart[]) => packCase(parts),
  unpackCase: async (file: Blob) => unpackCase(new Uint8Array(await file.arrayBuffer())),
};
export type PaperActions = typeof actions;
export interface PaperCall {
  readonly name: keyof PaperActions;
  readonly arg: unknown;
}
export type PaperAnswer = { readonly value: unknown } | { readonly code: string; readonly message: string };

self.onmessage = async ({ data: { name, arg } }: MessageEvent<PaperCall>) => {
  const answer = (say: PaperAnswer) => self.postMessage(say);
  try {
    const act = actions[name] as (arg: unknown) => Promise<unknown>;
    answer({ value: await act(arg) });
  } catch (error) {
    const code = error instanceof CaseError ? error.code : "internal";
    answer({ code, message: (error as Error).stack ?? String(error) });
  }
};
