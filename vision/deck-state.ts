import type { DeckState, QualityIssue } from "./contract/index.ts";
import type { Notes } from "./stages.ts";

/**
 * Whether the deck shakes: it does not at no strokes a minute; else as the frames of a burst told; else it does where the photo is smeared
 * along the riffles alone. One sharp photo does not tell: water that ran a moment ago looks the same.
 */
export function deckStateOf({ settings, deckState = "unknown" }: Notes, issues: readonly QualityIssue[]): DeckState {
  if (settings?.strokesPerMinute === 0) return "stopped";
  if (deckState !== "unknown") return deckState;
  return issues.some(({ kind }) => kind === "shake-blur") ? "running" : "unknown";
}
