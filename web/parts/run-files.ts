import { button, el, fill } from "../element.ts";
import type { Said } from "../run-words.ts";
import { inEnglish, say } from "../words.ts";

export interface RunFileActions {
  readonly take: (file: File) => void;
  readonly report: () => void;
}
/** A run as sheets, in and out, and as a report. */
export function runFiles(actions: RunFileActions) {
  const field = el("input", {
    id: "run-sheet",
    type: "file",
    class: "file-field",
    accept: ".csv,.xlsx,text/csv",
    onchange: () => {
      const [file] = field.files ?? [];
      if (file) actions.take(file);
      field.value = "";
    },
  });
  const links = el("div", { class: "choices" });
  const news = el("p", { role: "status" });
  const report = button(say("run.report"), actions.report, { class: "quiet", id: "make-report" });
  const reportLinks = el("div", { class: "choices" });
  const element = el(
    "div",
    {},
    links,
    el(
      "div",
      { class: "file-button" },
      field,
      el("label", { for: "run-sheet", class: "button quiet" }, say("run.sheet.take")),
    ),
    el("p", { class: "hint-line" }, say("run.sheet.mind")),
    el("div", { class: "choices" }, report),
    news,
    reportLinks,
  );
  const link = (words: string, href: string, attributes: object = {}) =>
    el("a", { class: "button quiet", href, ...attributes }, words);
  /** @param told  What came of the last thing that was asked for. */
  function update(
    sheets: { readonly csv: string; readonly xlsx: string } | null,
    told: Said | null,
    made: { readonly page: string; readonly pdf: string; readonly data: string } | null,
  ): void {
    element.hidden = sheets === null;
    if (!sheets) return;
    fill(
      links,
      link(say("run.sheet.csv"), sheets.csv, { download: "" }),
      link(say("run.sheet.xlsx"), sheets.xlsx, { download: "" }),
    );
    fill(news, el("span", told?.foreign ? inEnglish() : {}, told?.say ?? ""));
    fill(
      reportLinks,
      made && link(say("run.report.page"), made.page, { target: "_blank", rel: "noopener" }),
      made && link(say("run.report.pdf"), made.pdf, { download: "" }),
      made && link(say("run.report.data"), made.data, { download: "" }),
    );
  }
  return { element, update };
}
