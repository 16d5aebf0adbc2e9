import type { CocoFile, MarkUp } from "../vision/contract/index.ts";
import { toCoco } from "../vision/index.ts";
import { marksOfMarkUp } from "./marks.ts";
import type { Caller } from "./storage/caller.ts";
import { type Data, peopleOf } from "./storage/data.ts";

/** A mark-up's areas in the COCO format, with who drew them and when; null where it says nothing of cells. */
export async function cocoOfMarkUp(
  data: Data,
  caller: Caller,
  markUp: MarkUp & { readonly blob: string | null },
): Promise<CocoFile | null> {
  const marked = await marksOfMarkUp(data, caller, markUp);
  if (!marked) return null;
  const who = (await peopleOf(data, caller)).find(({ id }) => id === markUp.person)?.name ?? "";
  return toCoco(marked, {
    name: `${markUp.reading}.png`,
    description: "Classes of a shaking table's deck laid flat, one cell a pixel",
    who,
    madeAt: markUp.madeAt,
    licence: "As the photo's owner says",
  });
}
