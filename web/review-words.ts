import type { DeckFault, LookDifference, QueueReason, Reading, ReviewAnswer } from "../vision/contract/index.ts";
import { tell } from "../vision/telling/index.ts";
import { hintHeadline } from "./reading-words.ts";
import { inTrouble } from "./trouble.ts";
import { number, percent, say, speech } from "./words.ts";

/** What is said of reviews, references and lessons in more than one place. */

export const faultName = (fault: DeckFault) => say(`fault.${fault}`);
export const faultRemedy = (fault: DeckFault) => say(`fault.${fault}.do`);

/** How this photo differs from a reference, in one sentence; without a deck file in per cent of the outlet. */
export function sayDifference(told: LookDifference, { scale }: Pick<Reading, "scale">): string {
  switch (told.name) {
    case "edge": {
      const { edge, way, mm, share } = told;
      const far = scale === "assumed" ? percent(share) : `${number(mm)}\u00a0mm`;
      return say("alike.edge", { band: say(`class.${told.band}`), edge, way, far });
    }
    case "band":
      return say("alike.band", { band: say(`class.${told.band}`), here: told.here ? "yes" : "no" });
    case "cover":
      return say("alike.cover", { of: say(`class.${told.of}`), way: told.way, share: percent(told.share) });
    case "parts":
      return say("alike.parts", { band: say(`class.${told.band}`), here: told.here, there: told.there });
  }
}

/** Why a reading stands in the queue. */
export function sayReason({ kind, value, cause }: QueueReason): string {
  if (kind === "alarm") return say("review.reason.alarm", { cause: cause ? tell(speech, cause) : "" });
  const told = value === null ? "" : kind === "suddenMove" ? `${number(value)} mm` : percent(value);
  return say(`review.reason.${kind}`, { value: told });
}

/** What a reviewer says to the hint, in one sentence. */
export function sayVerdict({ verdict, said, change }: ReviewAnswer, reading: Reading): string {
  if (change) return say("review.said.changed", { change: hintHeadline(change, reading) });
  if (!said && verdict === "confirmed") return say("review.verdict.right");
  const hint = said ? hintHeadline(said, reading) : "";
  return say(verdict === "confirmed" ? "review.said.confirmed" : "review.said.refused", { hint });
}

/** Why something could not be had, in words; without a network that is said. */
export function whyNot(error: unknown): string {
  const { code, detail } = inTrouble(error);
  return code === "no-answer" ? say("gallery.needsServer") : detail;
}
