import { afterEach, expect, it } from "vitest";
import { Reader } from "../../server/reader.ts";

const entry = new URL("moody-process.mjs", import.meta.url);
let reader: Reader;
const start = (limitSeconds = 20) => {
  reader = new Reader({ limitSeconds, entry });
  return reader;
};
const photo = (name: string) => ({
  bytes: new Uint8Array(8),
  name,
  deck: null,
  corners: null,
  notes: {},
  pictures: false,
});
afterEach(() => reader.close());

it("answers each photo with its own reading, and tells the stages of each", async () => {
  start();
  const stages: string[][] = [[], [], []];
  const names = ["a.jpg", "b.jpg", "c.jpg"];
  const outcomes = await Promise.all(
    names.map((name, i) => reader.read(photo(name), (stage) => stages[i]?.push(stage))),
  );
  expect(outcomes.map(({ reading }) => reading.photo.name)).toEqual(names);
  expect(stages).toEqual([
    ["photo", "view"],
    ["waiting", "photo", "view"],
    ["waiting", "photo", "view"],
  ]);
  expect(reader.waiting).toBe(0);
});

it("stops a photo that takes too long, says so, and reads the others", async () => {
  start(1.5);
  const outcomes = await Promise.all(["a.jpg", "hang.jpg", "b.jpg"].map((name) => reader.read(photo(name))));
  expect(outcomes.map(({ reading }) => reading.quality.usable)).toEqual([true, false, true]);
  expect(outcomes[1]?.problem).toMatchObject({
    code: "photo-timeout",
    message: expect.stringContaining("took too long"),
  });
});

it.each(["crash.jpg", "abort.jpg", "throw.jpg", "fault.jpg"])(
  "answers a crash (%s) in plain words and starts afresh",
  async (name) => {
    start();
    const outcomes = await Promise.all(["a.jpg", name, "b.jpg"].map((each) => reader.read(photo(each))));
    expect(outcomes.map(({ reading }) => reading.quality.usable)).toEqual([true, false, true]);
    expect(outcomes[1]?.problem?.code).toBe("engine-failed");
    expect(outcomes[1]?.problem?.message).not.toMatch(/Error|\.m?[tj]s|thrown/);
  },
);

it("stops a photo that nobody waits for, under work or in the queue, and reads the others", async () => {
  start();
  const [first, second, early] = [new AbortController(), new AbortController(), new AbortController()];
  early.abort();
  const read = (name: string, signal?: AbortSignal) => reader.read(photo(name), () => {}, signal);
  const all = Promise.allSettled([
    read("hang.jpg", first.signal),
    read("hang too.jpg", second.signal),
    read("hang as well.jpg", early.signal),
    read("a.jpg"),
  ]);
  await expect.poll(() => reader.waiting).toBe(3);
  second.abort();
  await expect.poll(() => reader.waiting).toBe(2);
  first.abort();
  const [one, two, three, four] = await all;
  for (const end of [one, two, three]) expect(end).toMatchObject({ status: "rejected", reason: { code: "stopped" } });
  expect(four).toMatchObject({ status: "fulfilled", value: { reading: { quality: { usable: true } } } });
});

it("rejects what still waits when it is closed", async () => {
  start();
  const waiting = [reader.read(photo("hang.jpg")), reader.read(photo("a.jpg"))];
  const ends = Promise.allSettled(waiting);
  await reader.close();
  for (const end of await ends) expect(end).toMatchObject({ status: "rejected", reason: { code: "closed" } });
});
