import { describe, expect, it } from "vitest";
import { type DriftPhoto, driftOf, seriesOf } from "../../../vision/accounts/deck-drift.ts";
import { likelyCause } from "../../../vision/accounts/likely-cause.ts";
import { DriftEvent, type WatchedName } from "../../../vision/contract/index.ts";
import { randomFrom } from "../../../vision/scene/random.ts";
import { inEnglish } from "../../english.ts";
import { quietDeck, readingOf, type Shown } from "./deck-readings.ts";
import { gaussFrom } from "./gauss.ts";

const at = (i: number) => new Date(Date.UTC(2031, 4, 4, 6, 10 * i)).toISOString().slice(0, 19);
const photosOf = (shown: readonly Shown[], by = (_i: number) => "1 1"): DriftPhoto[] =>
  shown.map((one, i) => ({ at: at(i), reading: readingOf(one), measuredBy: by(i) }));
const quiet = quietDeck(gaussFrom(randomFrom(21)));
const photos = (count: number, off?: (i: number) => number) => Array.from({ length: count }, (_, i) => quiet(i, off));

describe("what is watched of a deck", () => {
  it("edges that are edges, with their errors, and cover of what is seen", () => {
    const shown = { denseTo: 240, middlingTo: 640, dense: 0.1, middling: 0.1, light: 0.3, dry: 0 };
    const reading = readingOf(shown);
    const half = { ...reading, cover: { ...reading.cover!, unseen: 0.5, bare: 0, dense: 0.1 } };
    const series = new Map(seriesOf([reading, half]).map((one) => [one.quantity, one]));
    expect(series.get("dense to")).toMatchObject({ unit: "mm", values: [240, 240], errors: [4, 4] });
    expect(series.get("dense from")!.values).toEqual([null, null]); // the outlet's own end
    expect(series.get("dense cover")).toMatchObject({ unit: "%", values: [10, 20] });
  });

  it("no place where the deck's size is a guess, and nothing of an unusable photo", () => {
    const reading = readingOf(quiet(0));
    const [assumed, unusable] = [
      { ...reading, scale: "assumed" as const },
      { ...reading, cover: null, bands: [] },
    ];
    for (const { quantity, values } of seriesOf([assumed, unusable])) {
      expect(values[0] === null, quantity).toBe(!quantity.endsWith("cover"));
      expect(values[1], quantity).toBeNull();
    }
  });
});

describe("a deck's photos on charts", () => {
  it("quiet: no event, every limit told", () => {
    const { charts, events } = driftOf(photosOf(photos(60)));
    expect(events).toEqual([]);
    expect(charts.map(({ quantity }) => quantity)).toEqual([
      "dense to",
      "middling from",
      "middling to",
      "light from",
      "dense cover",
      "middling cover",
      "light cover",
      "bare cover",
      "dry cover",
    ]);
    for (const { limits, level, sd, points } of charts) {
      expect(limits.single).toBeGreaterThan(3.5); // nine charts share the false alarms
      expect(level! > 0 && sd! > 0).toBe(true);
      expect(points).toHaveLength(58); // from the third on
    }
  });

  it("both edges step down the slope: one event, a step, and water or slope as its cause", () => {
    const { events } = driftOf(photosOf(photos(80, (i) => (i >= 50 ? 60 : 0))));
    expect(events).toHaveLength(1);
    expect(events[0]).toMatchObject({ kind: "step", cause: { kind: "common practice" } });
    expect(events[0]!.since).toBeGreaterThanOrEqual(48);
    expect(events[0]!.at - events[0]!.since).toBeLessThanOrEqual(3);
    expect(inEnglish([events[0]!.cause.told])[0]).toContain("wash water or a steeper cross slope");
    expect(DriftEvent.safeParse(events[0]).success).toBe(true);
  });

  it("what was written down just then comes first", () => {
    const changes = [{ at: at(49).slice(0, 16), control: "wash water", target: "", who: "Ama", note: "" }];
    const { events } = driftOf(photosOf(photos(80, (i) => (i >= 50 ? 60 : 0))), changes);
    expect(events[0]!.cause).toMatchObject({ kind: "written down" });
    expect(inEnglish([events[0]!.cause.told])[0]).toBe(
      `Wash water was changed by Ama at ${at(49).slice(0, 16).replace("T", " ")}.`,
    );
    const late = driftOf(photosOf(photos(80, (i) => (i >= 50 ? 60 : 0))), [{ ...changes[0]!, at: at(70) }]);
    expect(late.events[0]!.cause.kind).toBe("common practice");
  });

  it("a creep is a drift, a while off is a surge", () => {
    const creep = driftOf(photosOf(photos(100, (i) => (i >= 50 ? 3 * (i - 49) : 0))));
    expect(creep.events[0]!.kind).toBe("drift");
    const surge = driftOf(photosOf(photos(80, (i) => (i >= 50 && i < 55 ? 60 : 0))));
    expect(surge.events[0]).toMatchObject({ kind: "surge", cause: { kind: "common practice" } });
    expect(inEnglish([surge.events[0]!.cause.told])[0]).toContain("feed surged");
  });

  it("another program or deck file: the level is learned anew and is no alarm", () => {
    const drift = driftOf(
      photosOf(
        photos(80, (i) => (i >= 40 ? 60 : 0)),
        (i) => (i >= 40 ? "2 1" : "1 1"),
      ),
    );
    expect(drift.events.flatMap(({ moved }) => moved).filter(({ unit }) => unit === "mm")).toEqual([]);
    expect(inEnglish(drift.notes).join(" ")).toContain("learn their level anew");
  });

  it("what is hardly ever seen is said, not watched; few photos are no charts", () => {
    const drift = driftOf(photosOf(photos(40).map((one, i) => ({ ...one, dry: i % 10 === 0 ? 0.01 : 0 }))));
    expect(drift.charts.map(({ quantity }) => quantity)).not.toContain("dry cover");
    expect(inEnglish(drift.notes).join(" ")).toContain("Seen too seldom to be watched: dry, share of the deck");
    const few = driftOf(photosOf(photos(5)));
    expect(few.charts).toEqual([]);
    expect(inEnglish(few.notes).join(" ")).toContain("there are 5");
    expect(driftOf([])).toMatchObject({ charts: [], events: [] });
  });
});

describe("likely causes, common practice", () => {
  const around = { before: "2031-05-04T08:00", until: "2031-05-04T09:00", changes: [] };
  const event = (kind: DriftEvent["kind"], ...moved: [WatchedName, number][]) => ({
    kind,
    moved: moved.map(([quantity, size]) => ({ quantity, size, unit: "mm" as const })),
  });
  it.each([
    [event("surge", ["dense to", 30]), "feed surged"],
    [event("drift", ["dry cover", 2], ["dense to", -30], ["middling to", -30]), "runs drier"],
    [event("step", ["dense to", 30], ["middling to", 40]), "more wash water or a steeper"],
    [event("drift", ["dense to", -30], ["middling to", -40]), "less wash water"],
    [event("step", ["light cover", 6], ["bare cover", -6]), "more feed"],
    [event("step", ["light cover", -6], ["bare cover", 6]), "less feed"],
    [event("drift", ["dense to", 30], ["dense cover", 2]), "dense band grew alone"],
    [event("drift", ["dense to", -30]), "dense band shrank alone"],
  ])("%#: %j", (moved, say) => {
    const { kind, told } = likelyCause(moved, around);
    expect(kind).toBe("common practice");
    expect(inEnglish([told])[0]).toContain(say);
  });
  it("is not known where bands disagree", () => {
    expect(likelyCause(event("step", ["dense to", 30], ["middling to", -40]), around).kind).toBe("common practice");
    expect(likelyCause(event(null, ["middling to", 40]), around).kind).toBe("not known");
  });
});
