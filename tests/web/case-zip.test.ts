import { strToU8, unzipSync, zipSync } from "fflate";
import { expect, it } from "vitest";
import { type CasePart, packCase, unpackCase } from "../../web/case-zip.ts";

/** Case files: what was packed comes out again, and anything else is refused by a code that the page has words for. */

const PARTS: CasePart[] = [
  { is: "photo", name: "photo.jpg", what: "The photo", bytes: new Uint8Array([255, 216, 1, 2, 3]) },
  {
    is: "reading",
    name: "reading.json",
    what: "What was measured",
    bytes: strToU8('{"a":1}') as Uint8Array<ArrayBuffer>,
  },
];
const code = (fault: string) => expect.objectContaining({ code: fault });
/** The same ZIP with some of its files changed. */
const changed = (files: Record<string, Uint8Array>) => zipSync({ ...unzipSync(packCase(PARTS)), ...files });
const listOf = (change: object) => {
  const list = JSON.parse(new TextDecoder().decode(unzipSync(packCase(PARTS))["list.json"]));
  return strToU8(JSON.stringify({ ...list, ...change }));
};

it("gives back what was packed, each with what it is", () => {
  const opened = unpackCase(packCase(PARTS));
  expect([...opened.values()].map(({ sha256: _, data: __, ...part }) => part)).toEqual(PARTS);
});

it("is a ZIP that names its files and tells in words what each is", () => {
  const files = unzipSync(packCase(PARTS));
  expect(Object.keys(files)).toEqual(["list.json", "photo.jpg", "reading.json"]);
  const { files: told } = JSON.parse(new TextDecoder().decode(files["list.json"]));
  expect(told.map(({ name, what }: CasePart) => [name, what])).toEqual([
    ["photo.jpg", "The photo"],
    ["reading.json", "What was measured"],
  ]);
});

it.each([
  ["no ZIP", strToU8("a photo, not a ZIP"), "case-broken"],
  ["nothing at all", new Uint8Array(), "case-broken"],
  ["a ZIP cut short", packCase(PARTS).subarray(0, 120), "case-broken"],
  ["a ZIP of something else", zipSync({ "word/document.xml": strToU8("<a/>") }), "case-foreign"],
  ["a list of another kind", changed({ "list.json": listOf({ kind: "other" }) }), "case-foreign"],
  ["a list that is no JSON", changed({ "list.json": strToU8("{") }), "case-foreign"],
  ["one of a later version", changed({ "list.json": listOf({ schemaVersion: 2 }) }), "case-newer"],
  ["a part that was changed", changed({ "reading.json": strToU8('{"a":2}') }), "case-broken"],
] as [string, Uint8Array, string][])("refuses %s", (_, zip, fault) => {
  expect(() => unpackCase(zip)).toThrow(code(fault));
});

it("refuses a case that lacks what its list names", () => {
  const { "photo.jpg": _, ...rest } = unzipSync(packCase(PARTS));
  expect(() => unpackCase(zipSync(rest))).toThrow(code("case-broken"));
});

it("gives a list no more room than a list needs, however much it says it unpacks to", () => {
  const zip = zipSync({ "list.json": new Uint8Array(200_000) });
  expect(() => unpackCase(zip)).toThrow(code("case-large"));
});
