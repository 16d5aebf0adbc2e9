import { afterAll, beforeAll, expect, it } from "vitest";
import { Reader } from "../../server/reader.ts";
import { sayText, speechIn } from "../../server/speech.ts";
import { Expected } from "../../vision/contract/index.ts";
import { gradeAt, readingIn, seenRun } from "./seen-runs.ts";
import { MOODY, type Serving, serving } from "./serving.ts";

let app: Serving;
beforeAll(async () => {
  app = await serving({ reader: new Reader({ entry: MOODY }) });
});
afterAll(() => app.close());
const expected = async (run: string) =>
  Expected.parse(await (await app.get(`/api/readings/${readingIn(run)}/expected`)).json());

it("a photo of a run that was not assayed tells what to expect, once three others have photos and assays", async () => {
  const mine = await seenRun(app.at, app.parts, "Mine", 170, false);
  const first = (await expected(mine)).launders.find(({ launder }) => launder === "A")!;
  expect(first.grade).toMatchObject({ expected: null, runs: 0, refusal: expect.stringContaining("No run") });
  expect(first.grade.said).toEqual([{ key: "said.runs.noRunYet" }]);
  for (const [i, denseTo] of [110, 150].entries()) await seenRun(app.at, app.parts, `Run ${i}`, denseTo);
  const second = (await expected(mine)).launders.find(({ launder }) => launder === "A")!;
  expect(second.grade).toMatchObject({ expected: null, runs: 2, refusal: expect.stringContaining("2 of 3 runs") });
  expect(sayText(speechIn("fr"), second.grade.refusal!, second.grade.said)).toMatch(/^2 marches sur 3 sont là/);
  for (const [i, denseTo] of [190, 225].entries()) await seenRun(app.at, app.parts, `Run ${i + 2}`, denseTo);
  const told = await expected(mine);
  const { grade } = told.launders.find(({ launder }) => launder === "A")!;
  expect(told).toMatchObject({ material: "river sand", metal: "Sn" });
  expect(grade.runs).toBe(4);
  expect(grade.expected!.from).toBeLessThan(gradeAt(170));
  expect(grade.expected!.to).toBeGreaterThan(gradeAt(170));
  expect(Math.abs(grade.expected!.value - gradeAt(170))).toBeLessThan(1);
  expect(grade.leftOut.map(({ run }) => run).toSorted()).toEqual(["Run 0", "Run 1", "Run 2", "Run 3"]);
});
