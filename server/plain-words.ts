import type { z } from "zod";

/** One field at fault and what is wrong with it. */
export interface FieldFault {
  readonly field: string;
  readonly say: string;
}
type Issue = z.core.$ZodIssue;

/** What a check found, for people: `splitters[0].atMm must be a number`. */
export function fieldFaults(error: z.ZodError): FieldFault[] {
  return error.issues.flatMap((issue) => {
    const at = path(issue.path);
    if (issue.code !== "unrecognized_keys") return [{ field: at, say: fault(issue) }];
    return issue.keys.map((key) => ({
      field: path([...issue.path, key]),
      say: "is not a known field; check its spelling or leave it out",
    }));
  });
}

/** The first few faults as one sentence each. */
export function sayFaults(faults: readonly FieldFault[], most = 4): string {
  const told = faults.slice(0, most).map(({ field, say }) => (field ? `${field} ${say}.` : `It ${say}.`));
  const more = faults.length - told.length;
  return [...told, ...(more > 0 ? [`And ${more} more.`] : [])].join(" ");
}

const NOUNS: Record<string, string> = {
  string: "text in quotes",
  number: "a number",
  int: "a whole number",
  boolean: "true or false",
  array: "a list in square brackets",
  tuple: "a list in square brackets",
  object: "a group of fields in braces",
  record: "a group of fields in braces",
};

function fault(issue: Issue): string {
  switch (issue.code) {
    case "invalid_type":
      if (issue.message.endsWith("received undefined")) return "is missing";
      return `must be ${NOUNS[issue.expected] ?? issue.expected}`;
    case "invalid_value":
      return `must be ${issue.values.map((value) => JSON.stringify(value)).join(" or ")}`;
    case "too_small":
      return `must ${measure(issue.origin, issue.exact ? "exactly" : issue.inclusive ? "at least" : "more than", issue.minimum)}`;
    case "too_big":
      return `must ${measure(issue.origin, issue.exact ? "exactly" : issue.inclusive ? "at most" : "less than", issue.maximum)}`;
    default:
      return issue.message.startsWith("must ") ? issue.message : `is wrong: ${issue.message}`;
  }
}

function measure(origin: string, how: string, limit: number | bigint): string {
  if (origin === "array") return `have ${how} ${limit} items`;
  if (origin === "string" && limit === 1) return "not be empty";
  if (origin === "string") return `have ${how} ${limit} characters`;
  return `be ${how} ${limit}`;
}

function path(steps: readonly PropertyKey[]): string {
  return steps.reduce<string>(
    (so, step) => (typeof step === "number" ? `${so}[${step}]` : so ? `${so}.${String(step)}` : String(step)),
    "",
  );
}
