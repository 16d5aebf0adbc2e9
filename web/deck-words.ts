import { kindOf, type Line } from "./deck-draft.ts";
import { say } from "./words.ts";

/** What a line of the deck file is called; wash pipes and smooth parts by their number. */
export function lineName(line: Line): string {
  const [kind, nth] = kindOf(line);
  return say(`editor.${kind}`, { nth: nth + 1 });
}
