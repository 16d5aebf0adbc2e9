import type { EarlierLook, Hint, SettingsFile } from "../contract/index.ts";
import { bordersOf } from "../twin/as-seen.ts";
import type { Case, Draft } from "./case.ts";

/** Borders that moved by less than this many standard errors stand where they stood. */
const STILL_ERRORS = 2.5;
/** A hint against the last one for the same control must be this much stronger than one that may speak at all. */
const AGAINST = 2;

/**
 * Hints that do not change their mind: while nothing was set and the bands stand still, the hint of the look before stands
 * too, amount and all, as long as this photo does not speak clearly against it. And a control that was just moved is not
 * moved back by a photo that says so but faintly.
 *
 * @param drafts  Best first.  @returns Hints, best first.
 */
export function steadied(drafts: readonly Draft[], seen: Case): Hint[] {
  const last = seen.notes.earlier?.at(-1);
  if (!last) return drafts.map(({ hint }) => hint);
  const still = stands(last, seen);
  const before = last.reading.advice[0];
  const kept = drafts.filter(({ hint, strength }) => still || !reverses(hint, before) || strength >= AGAINST);
  const same = before && still ? kept.find(({ hint }) => alike(hint, before)) : undefined;
  if (!before || !same) return kept.map(({ hint }) => hint);
  return [before, ...kept.filter((draft) => draft !== same).map(({ hint }) => hint)];
}

/** Nothing was set since, the splitters neither, and the bands stand still. */
function stands(look: EarlierLook, seen: Case): boolean {
  const at = (name: string) => look.reading.splitters.find((s) => s.name === name)?.atMm;
  return seen.reading.splitters.every(({ name, atMm }) => at(name) === atMm) && sameBands(look, seen);
}

/** No control that moves bands was set since a look, and the bands stand where they stood, within both photos' doubt. */
export function sameBands({ reading, settings }: EarlierLook, seen: Case): boolean {
  if (!sameSet(settings, seen.notes.settings)) return false;
  const was = bordersOf(reading);
  return bordersOf(seen.reading).every((border) => {
    const then = was.find((b) => b.between.join() === border.between.join());
    const far = then ? Math.abs(then.atMm.value - border.atMm.value) : 0;
    return far <= STILL_ERRORS * Math.hypot(border.atMm.error, then?.atMm.error ?? 0);
  });
}

/** What was set, in whatever order it was typed; what was learned, seen by eye or counted is none, and water warms by itself. */
function set(settings: SettingsFile = {}): string {
  const { twin: _t, seen: _s, reach: _r, edgeCounts: _e, waterTemperatureCelsius: _w, ...controls } = settings;
  return JSON.stringify(Object.entries(controls).toSorted(([a], [b]) => (a < b ? -1 : 1)));
}
export const sameSet = (a?: SettingsFile, b?: SettingsFile) => set(a) === set(b);
const alike = (a: Hint, b: Hint) => a.control === b.control && a.target === b.target && a.direction === b.direction;
const reverses = (a: Hint, b: Hint | undefined) =>
  b !== undefined &&
  a.control === b.control &&
  a.target === b.target &&
  a.direction !== b.direction &&
  a.direction !== "hold" &&
  b.direction !== "hold";

/** One of the last looks called for a change: the person is setting the deck, and may be at the last of it. */
export function isBeingSet({ notes }: Case): boolean {
  const last = (notes.earlier ?? []).slice(-SETTING_LOOKS).map(({ reading }) => reading.advice[0]);
  return last.some((hint) => hint !== undefined && hint.direction !== "hold");
}
const SETTING_LOOKS = 3;
