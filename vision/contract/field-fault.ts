import type { z } from "zod";
import type { SaidText } from "./said.ts";

/** What a check of a document found wrong with one field, as sentences of `vision/sentences/`. */
export function fieldFault(issue: z.core.$ZodIssue): SaidText {
  const field = pathWords(issue.path);
  const told = (name: string, values: Record<string, string | number> = {}): SaidText => [
    { key: `said.field.${name}`, values: { field, ...values } },
  ];
  switch (issue.code) {
    case "unrecognized_keys":
      return issue.keys.flatMap((key) => [
        { key: "said.field.unknown", values: { field: pathWords([...issue.path, key]) } },
      ]);
    case "invalid_type":
      return issue.message.endsWith("received undefined") ? told("missing") : told("type", { kind: issue.expected });
    case "invalid_value":
      return told("oneOf", { values: issue.values.map(String).join(", ") });
    case "too_small":
      if (issue.origin === "string") return told("empty");
      if (issue.origin === "array") return told("items", { limit: Number(issue.minimum) });
      return told(issue.inclusive ? "least" : "above", { limit: Number(issue.minimum) });
    case "too_big":
      if (issue.origin === "array") return told("mostItems", { limit: Number(issue.maximum) });
      return told("most", { limit: Number(issue.maximum) });
    default:
      return told("wrong");
  }
}

/** `splitters[0].atMm`. */
function pathWords(steps: readonly PropertyKey[]): string {
  return steps.reduce<string>(
    (so, step) => (typeof step === "number" ? `${so}[${step}]` : so ? `${so}.${String(step)}` : String(step)),
    "",
  );
}
