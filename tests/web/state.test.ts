import { expect, it } from "vitest";
import { DeckFile, type Reading } from "../../vision/contract/index.ts";
import { cornerWords, deckToSend, FIRST_DECK, firstCorners, parseDeckFile } from "../../web/deck.ts";
import * as steps from "../../web/state.ts";

const photo: steps.ShownPhoto = {
  id: "a".repeat(64),
  name: "a.jpg",
  widthPx: 1000,
  heightPx: 800,
  takenAt: null,
  previewUrl: "blob:a",
  file: new Blob(),
  own: true,
  isKept: true,
};
const started = steps.takePhoto(steps.FIRST_STATE, photo);
const sixCornered = DeckFile.parse({
  schemaVersion: 1,
  lengthMm: 1000,
  widthMm: 500,
  outline: [
    [0, 0],
    [600, 0],
    [1000, 100],
    [1000, 500],
    [400, 500],
    [0, 300],
  ],
  outletPath: [
    [1000, 100],
    [1000, 500],
    [400, 500],
  ],
});

it("lays a first guess clockwise for a right-hand deck and anticlockwise for a left-hand one", () => {
  const turn = (corners: readonly (readonly [number, number])[]) =>
    Math.sign(
      corners.reduce(
        (s, [x, y], i) => s + x * corners[(i + 1) % corners.length]![1] - corners[(i + 1) % corners.length]![0] * y,
        0,
      ),
    );
  expect(turn(firstCorners(FIRST_DECK, 1000, 800))).toBe(1);
  expect(turn(firstCorners({ ...FIRST_DECK, hand: "left" }, 1000, 800))).toBe(-1);
});

it("keeps the points people placed when they correct the hand, and renames them", () => {
  const placed = steps.moveCorner(started, 0, [111, 222]);
  const left = steps.describeDeck(placed, { ...placed.deck, hand: "left" });
  expect(left.corners[1]).toEqual([111, 222]);
  expect([...left.corners].sort()).toEqual([...placed.corners].sort());
});

it("asks for as many corners as the deck file's outline has, each with its name", () => {
  const state = steps.describeDeck(started, { ...started.deck, file: sixCornered });
  expect(state.corners).toHaveLength(6);
  expect(cornerWords(state.deck)[0]).toBe("drive end, wash-water side");
  expect(cornerWords(state.deck)[1]).toBe("600\u00a0mm from the drive end, wash-water side");
});

it("sends no deck when its size is not known, so that nothing is shown in mm", () => {
  expect(deckToSend(FIRST_DECK)).toBeNull();
  expect(deckToSend({ ...FIRST_DECK, sizeKnown: true })).toMatchObject({ lengthMm: 1800, widthMm: 900, hand: "right" });
});

it("goes back from a failed reading to the corners as they were", () => {
  const failed = steps.fail(steps.startReading(started), { title: "No.", detail: "Try again." });
  expect(failed).toMatchObject({ step: "corners", corners: started.corners, photo, problem: { title: "No." } });
});

it("never lends a sample's deck to the person's own photo", () => {
  const sample = { name: "s", title: "S", photoUrl: "/samples/s.jpg", deck: sixCornered, corners: null };
  const entered = steps.describeDeck(started, { ...started.deck, sizeKnown: true, lengthMm: 1500, hand: "left" });
  const looking = steps.takePhoto(steps.anotherPhoto(entered), photo, sample);
  expect(looking.deck.file).toEqual(sixCornered);
  const second = steps.takePhoto(steps.anotherPhoto(looking), photo, sample);
  for (const state of [looking, second, steps.describeDeck(second, { ...second.deck, file: null })]) {
    expect(steps.anotherPhoto(state).deck).toEqual(entered.deck);
    expect(steps.takePhoto(steps.anotherPhoto(state), photo).deck).toEqual(entered.deck);
    expect(steps.takePhoto(state, photo).deck).toEqual(entered.deck);
  }
  expect(steps.anotherPhoto(entered).deck).toEqual(entered.deck);
});

it("keeps spots until another photo comes, the later of two on one spot, and takes them back one by one", () => {
  const spot = (x: number, name: "dense" | "light") => ({ at: [x, 5] as [number, number], class: name });
  const two = steps.addTap(steps.addTap(started, spot(1, "dense")), spot(2, "dense"));
  expect(steps.addTap(two, spot(1, "light")).taps).toEqual([spot(2, "dense"), spot(1, "light")]);
  expect(steps.undoTap(two).taps).toEqual([spot(1, "dense")]);
  expect(steps.undoTap(started).taps).toEqual([]);
  expect(steps.describeDeck(two, { ...two.deck, hand: "left" }).taps).toEqual(two.taps);
  expect(steps.takePhoto(two, photo).taps).toEqual([]);
});

it("goes back from a failed reading to the step that asked for it", () => {
  const failed = steps.fail(steps.startReading(steps.sayTaps(started)), null);
  expect(failed.step).toBe("taps");
  expect(steps.fail(steps.startReading(steps.changeCorners(failed)), null).step).toBe("corners");
});

it.each([
  ["not json", /not JSON/],
  ['{"schemaVersion":1,"lengthMm":-5,"widthMm":900}', /lengthMm/],
])("says what is wrong with the deck file %s", (text, words) => {
  expect(() => parseDeckFile(text)).toThrow(words);
});

it("draws a corner to the edge in a step that can be taken back, until the next move", () => {
  const put = steps.moveCorner(started, 1, [500, 100]);
  const drawn = steps.drawCorner(put, 1, [504, 98]);
  expect(drawn.corners[1]).toEqual([504, 98]);
  expect(steps.putBack(drawn).corners).toEqual(put.corners);
  expect(steps.putBack(drawn).drawn).toBeNull();
  const nudged = steps.moveCorner(drawn, 1, [505, 98]);
  expect(steps.putBack(nudged).corners).toEqual(nudged.corners);
  const none = steps.drawCorner(put, 1, null);
  expect(none.corners).toEqual(put.corners);
  expect(steps.putBack(none).corners).toEqual(put.corners);
});

it("asks which way round the deck lies where only that keeps a photo from being read, until another photo comes", () => {
  const unusable = (kind: string): steps.Result => {
    const reading = { quality: { usable: false, issues: [{ kind, say: "…" }] }, view: null };
    return {
      reading: reading as unknown as Reading,
      readingUrl: "",
      picture: null,
      classesUrl: null,
      classesPng: null,
    };
  };
  expect(steps.showResult(steps.startReading(started), unusable("no-deck")).step).toBe("result");
  const asked = steps.showResult(steps.startReading(started), unusable("turn-unsure"));
  expect(asked.step).toBe("turn");
  const said = steps.sayFirstCorner(asked, [3, 4]);
  expect(steps.fail(steps.startReading(said), null)).toMatchObject({ step: "turn", firstCorner: [3, 4] });
  expect(steps.takePhoto(said, photo).firstCorner).toBeNull();
});
