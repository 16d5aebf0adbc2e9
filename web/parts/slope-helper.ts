import { button, el, fill } from "../element.ts";
import type { KnownAtTable } from "../known-at-table.ts";
import { numberEntry } from "../number-entry.ts";
import { fallMm, type Measured, shimsFor, slopeFromPhone, slopeFromShim } from "../set-up-sums.ts";
import { sumLines } from "../sum-lines.ts";
import { measureTilt, NoTilt } from "../tilt.ts";
import { exact, measured, type Unit } from "../units.ts";
import { type Key, say } from "../words.ts";

/** First slopes that are wanted where the deck file has no set points, mm/m. */
export interface WantedSlopes {
  readonly crossMmPerM: number;
  readonly endMmPerM: number;
}

const entry = (
  name: string,
  unit: Unit,
  words: Key,
  limits: readonly [number, number],
  changed: () => void,
  first: number | null = null,
) => numberEntry(name, unit, (typed) => say(words, { unit: typed }), limits, changed, first);

/** Slope from bar and shim or from this phone, and the shims that bring it where it is wanted. */
export function slopeHelper(known: KnownAtTable, wanted: WantedSlopes, changed: () => void) {
  const cross = entry("cross-now", "mm/m", "setup.slope.crossNow", [-300, 300], () => forget("crossSlope"));
  const end = entry("end-now", "mm/m", "setup.slope.endNow", [-300, 300], () => forget("endSlope"));
  /** Typed over: what was measured does not hold any more. */
  const forget = (which: "crossSlope" | "endSlope") => {
    known[which] = null;
    all();
  };
  const take = (which: "crossSlope" | "endSlope", slope: Measured) => {
    (which === "crossSlope" ? cross : end).put(slope.value);
    known[which] = slope;
    all();
  };
  const takers = (slope: () => Measured | null) => {
    const taker = (which: "crossSlope" | "endSlope", words: string) =>
      button(
        words,
        () => {
          const found = slope();
          if (found) take(which, found);
        },
        { class: "quiet" },
      );
    return el(
      "div",
      { class: "choices" },
      taker("crossSlope", say("setup.slope.asCross")),
      taker("endSlope", say("setup.slope.asEnd")),
    );
  };
  const all = () => {
    bar.update();
    phone.update();
    shims.update();
    changed();
  };
  const bar = byBar(all, takers);
  const phone = byPhone(all, takers);
  const shims = shimSums(known, { cross, end }, wanted, all);
  const element = el(
    "div",
    {},
    el("h3", {}, say("setup.bar.title")),
    ...bar.elements,
    el("h3", {}, say("setup.phone.title")),
    ...phone.elements,
    el("h3", {}, say("setup.shims.title")),
    el("div", { class: "caution" }, el("p", {}, say("safety.lever"))),
    cross.element,
    end.element,
    ...shims.elements,
  );
  const update = () => {
    for (const part of [bar, phone, shims]) part.update();
  };
  return { element, update };
}
type Takers = (slope: () => Measured | null) => HTMLElement;

function byBar(changed: () => void, takers: Takers) {
  const length = entry("bar", "mm", "setup.bar.length", [50, 3000], changed, 600);
  const shim = entry("shim", "mm", "setup.bar.shim", [-200, 200], changed);
  const turned = entry("shim-turned", "mm", "setup.bar.turned", [-200, 200], changed);
  const sum = sumLines();
  const slope = () => {
    const [barMm, shimMm, turnedShimMm] = [length.value(), shim.value(), turned.value()];
    if (barMm === null || shimMm === null) return null;
    return slopeFromShim({ barMm, shimMm, ...(turnedShimMm !== null && { turnedShimMm }) });
  };
  const update = () =>
    sum.show(() => {
      const found = slope();
      return found && [[say("setup.slope.slope"), measured(found, "mm/m")]];
    }, say("setup.bar.need"));
  const elements = [
    el("p", {}, say("setup.bar.how")),
    ...[length, shim, turned].map((entry) => entry.element),
    sum.element,
    takers(slope),
  ];
  return { elements, update };
}

function byPhone(changed: () => void, takers: Takers) {
  const sides = { laid: [] as readonly number[], turned: [] as readonly number[] };
  const side = (name: keyof typeof sides, words: string, act: string) => {
    const typed = numberEntry(
      `phone-${name}`,
      "°",
      () => words,
      [-45, 45],
      () => {
        const value = typed.value();
        sides[name] = value === null ? [] : [value];
        changed();
      },
    );
    const value = typed.value();
    if (value !== null) sides[name] = [value];
    const press = button(act, () => void measure(), { class: "quiet" });
    const told = el("p", { class: "hint-line", role: "status" });
    const measure = async () => {
      press.disabled = true;
      told.textContent = say("setup.phone.still");
      try {
        const readings = await measureTilt();
        typed.put(readings.reduce((sum, reading) => sum + reading, 0) / readings.length);
        sides[name] = readings;
        told.textContent = say("setup.phone.read", { count: readings.length });
        changed();
      } catch (error) {
        if (!(error instanceof NoTilt)) throw error;
        told.textContent = say("setup.phone.none");
      } finally {
        press.disabled = false;
      }
    };
    return [typed.element, press, told];
  };
  const sum = sumLines();
  const slope = () => (sides.laid.length === 0 ? null : slopeFromPhone(sides.laid, sides.turned));
  const update = () =>
    sum.show(() => {
      const found = slope();
      if (!found) return null;
      const own = found.offsetDegrees ? measured(found.offsetDegrees, "°") : say("setup.phone.notTurned");
      return [
        [say("setup.slope.slope"), measured(found.mmPerM, "mm/m")],
        [say("setup.slope.angle"), measured(found.degrees, "°")],
        [say("setup.phone.own"), own],
      ];
    }, say("setup.phone.need"));
  const elements = [
    el("p", {}, say("setup.phone.how")),
    ...side("laid", say("setup.phone.laid"), say("setup.phone.measure")),
    ...side("turned", say("setup.phone.turned"), say("setup.phone.measureTurned")),
    sum.element,
    takers(() => slope()?.mmPerM ?? null),
  ];
  return { elements, update };
}

type Slopes = Record<"cross" | "end", ReturnType<typeof numberEntry>>;
function shimSums(known: KnownAtTable, now: Slopes, first: WantedSlopes, changed: () => void) {
  const wanted: Slopes = {
    cross: entry("cross-wanted", "mm/m", "setup.shims.crossWanted", [-300, 300], changed, first.crossMmPerM),
    end: entry("end-wanted", "mm/m", "setup.shims.endWanted", [-300, 300], changed, first.endMmPerM),
  };
  const along = entry("legs-along", "mm", "setup.shims.along", [100, 6000], changed);
  const across = entry("legs-across", "mm", "setup.shims.across", [100, 3000], changed);
  const sum = sumLines();
  const doubt = el("p", { class: "hint-line" });
  const slopesOf = ({ cross, end }: Slopes) => {
    const [crossSlopeMmPerM, endSlopeMmPerM] = [cross.value(), end.value()];
    return crossSlopeMmPerM === null || endSlopeMmPerM === null ? null : { crossSlopeMmPerM, endSlopeMmPerM };
  };
  const update = () => {
    const supports = { alongMm: along.value(), acrossMm: across.value() };
    const [from, to] = [slopesOf(now), slopesOf(wanted)];
    const { alongMm, acrossMm } = supports;
    const ready = alongMm !== null && acrossMm !== null && from && to;
    sum.show(() => {
      if (!ready) return null;
      const legs = shimsFor({ supports: { alongMm, acrossMm }, now: from, wanted: to });
      const [drive, product] = [say("corners.driveEnd"), say("corners.productEnd")];
      const [high, low] = [say("corners.waterSide"), say("corners.tailingsSide")];
      return [
        [say("corners.place", { end: drive, side: high }), exact(legs.driveHigh, "mm")],
        [say("corners.place", { end: product, side: high }), exact(legs.denseHigh, "mm")],
        [say("corners.place", { end: drive, side: low }), exact(legs.driveLow, "mm")],
        [say("corners.place", { end: product, side: low }), exact(legs.denseLow, "mm")],
      ];
    }, say("setup.shims.need"));
    const sure = (slope: Measured | null, runMm: number) =>
      slope ? `±\u00a0${exact(fallMm(slope.error, runMm), "mm")}` : say("setup.notKnown");
    fill(
      doubt,
      ready
        ? say("setup.shims.sure", { across: sure(known.crossSlope, acrossMm), along: sure(known.endSlope, alongMm) })
        : "",
    );
  };
  const elements = [
    ...[wanted.cross, wanted.end, along, across].map((entry) => entry.element),
    sum.element,
    doubt,
    el("p", { class: "hint-line" }, say("setup.shims.after")),
  ];
  return { elements, update };
}
