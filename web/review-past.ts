import { type MarkUp, NewReading, type Reading, ReadingList } from "../vision/contract/index.ts";
import { ask, readingThere, readingUrl } from "./api.ts";
import { toBase64 } from "./base64.ts";
import { button, el, fileButton, fill } from "./element.ts";
import { hintHeadline } from "./reading-words.ts";
import { agreementOf, markUpsOf, peopleNames, sendCoco, sendMarkUp } from "./review-api.ts";
import { whyNot } from "./review-words.ts";
import { knownSettings, withUnit } from "./settings-words.ts";
import { number, percent, say, when } from "./words.ts";

/** What came before a case: what the controls stood at, the deck's readings before it, and corrections of this one. */

const MOST_BEFORE = 5;
const MOST_MARK_UPS = 10;

/** What the controls stood at, and the hints of the deck's readings before this one. @throws {Trouble} */
export async function beforeCase(id: string): Promise<HTMLElement> {
  const [asked, list] = await Promise.all([
    ask(NewReading, `${readingUrl(id)}/asked`, {}),
    ask(ReadingList, "api/readings?limit=100", {}),
  ]);
  const own = list.items.find((item) => item.id === id);
  const before = own
    ? list.items.filter(
        (item) => item.usable && item.madeAt < own.madeAt && item.deck === own.deck && item.photo !== own.photo,
      )
    : [];
  const settings = asked.settings ? knownSettings(asked.settings) : [];
  const lines = await Promise.all(
    before.slice(0, MOST_BEFORE).map(async ({ id: earlier, madeAt }) => {
      const reading = await readingThere(earlier);
      return reading && el("li", {}, `${when(new Date(madeAt))}: ${hintOf(reading)}`);
    }),
  );
  return el(
    "div",
    {},
    el("h3", {}, say("desk.settings")),
    settings.length > 0
      ? el("ul", {}, ...settings.map(({ name, value, unit }) => el("li", {}, `${name}: ${withUnit(value, unit)}`)))
      : el("p", {}, say("desk.noSettings")),
    el("h3", {}, say("desk.before")),
    lines.some(Boolean) ? el("ul", {}, ...lines) : el("p", {}, say("desk.noBefore")),
  );
}
const hintOf = (reading: Reading) =>
  reading.advice[0] ? hintHeadline(reading.advice[0], reading) : say("next.nothing");

/** Corrections that people kept of a reading, with how far they agree; each can be gone on from. */
export function keptMarkUps(id: string, begin: (markUp: MarkUp) => void) {
  const list = el("div", {});
  const told = el("p", { role: "status" });
  const choose = fileButton(
    say("desk.file"),
    { id: "desk-file", accept: ".png,.json,image/png,application/json", quiet: true },
    (file) => void lay(file),
  );
  const element = el("div", {}, list, choose, told);
  async function update(): Promise<void> {
    const [all, names] = await Promise.all([markUpsOf(id), peopleNames()]);
    const shown = all.slice(0, MOST_MARK_UPS);
    const agreed = await Promise.all(
      shown.map((one, i) => {
        const other = shown[i + 1];
        return Promise.all([agreementOf(one.id), other ? agreementOf(one.id, other.id) : null]);
      }),
    );
    fill(
      list,
      ...shown.map((one, i) => {
        const [withReading, withOther] = agreed[i]!;
        const next = shown[i + 1];
        const words = { name: names.get(one.person) ?? "", when: when(new Date(one.madeAt)) };
        return el(
          "div",
          { class: "desk-kept" },
          el("p", {}, el("b", {}, say("review.by", words))),
          one.markUp.note && el("blockquote", {}, one.markUp.note),
          el("p", {}, `${say("desk.withReading")} ${sayAgreement(withReading)}`),
          withOther &&
            next &&
            el("p", {}, `${say("desk.withOther", { name: names.get(next.person) ?? "" })} ${sayAgreement(withOther)}`),
          el(
            "div",
            { class: "desk-tools" },
            button(say("desk.goOn", { name: words.name }), () => begin(one), { class: "quiet" }),
            one.classes && fileLink(say("desk.png"), `api/mark-ups/${one.id}/classes.png`, `${one.id}.png`),
            one.classes && fileLink(say("desk.coco"), `api/mark-ups/${one.id}/coco.json`, `${one.id}.coco.json`),
          ),
        );
      }),
    );
  }
  async function lay(file: File) {
    try {
      await layAreas(id, file);
      told.textContent = say("review.edgesSaved");
      await update();
    } catch (error) {
      told.textContent = whyNot(error);
    }
  }
  return { element, update };
}

const fileLink = (words: string, href: string, download: string) =>
  el("a", { class: "button quiet", href, download }, words);

/** Areas that another program made become a mark-up; the server says what is wrong with them. @throws {Trouble} */
async function layAreas(id: string, file: File): Promise<void> {
  if (file.type !== "image/png") return void (await sendCoco(id, await file.text()));
  const classesPng = toBase64(new Uint8Array(await file.arrayBuffer()));
  await sendMarkUp(id, { schemaVersion: 1, classesPng });
}

function sayAgreement({ overlap, edges }: Awaited<ReturnType<typeof agreementOf>>): string {
  const areas = overlap?.meanIou ?? null;
  return [
    areas === null ? say("desk.noAreas") : say("desk.areasAgree", { share: percent(areas) }),
    edges.medianMm === null
      ? say("desk.noEdges")
      : say("desk.edgesAgree", { mm: number(Math.abs(edges.medianMm)), count: edges.pairs.length }),
    edges.onlyA.length + edges.onlyB.length > 0 &&
      say("desk.edgesAlone", { count: edges.onlyA.length + edges.onlyB.length }),
  ]
    .filter(Boolean)
    .join(" ");
}
