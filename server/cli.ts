import { parseArgs } from "node:util";
import { advise } from "./commands/advise.ts";
import { compare } from "./commands/compare.ts";
import { marks } from "./commands/marks.ts";
import { read } from "./commands/read.ts";
import { schema } from "./commands/schema.ts";
import { setup } from "./commands/setup.ts";
import { UsageError } from "./usage.ts";

const HELP = `deckbands reads phone photos of a running shaking table and says what to change next.

  deckbands read PHOTO… [--deck F] [--corners F] [--taps F] [--profile F] [--settings F] [--aim F] [--out DIR] [--json]
  deckbands advise READING [--deck F] [--profile F] [--settings F] [--aim F] [--before F] [--json]
  deckbands compare BEFORE AFTER [--change F] [--deck F] [--profile F] [--settings F] [--json]
  deckbands balance SHEET [--out DIR] [--json]   what a run's weights and assays add up to, and which does not fit
  deckbands sampling AIM [--out DIR] [--json]    how much to sample for a stated error, in how many cuts; labels to print
  deckbands setup [--deck F] [--json]   the steps of setting up a table, with check values
  deckbands marks [--deck F] [--out DIR]   print marks to fix beside the deck, so that photos need no corners
  deckbands serve          serve the page; PORT, HOST and DECKBANDS_DATA say where
  deckbands demo           read a sample photo, then serve the page
  deckbands backup DIR     copy what DECKBANDS_DATA holds into a new folder, also while it is served
  deckbands restore DIR    lay a backup into DECKBANDS_DATA, a folder that holds nothing yet
  deckbands migrate        move what the folder DECKBANDS_DATA holds to DECKBANDS_DATABASE and DECKBANDS_OBJECTS, and compare
  deckbands export DIR [--site ID] [--position]   write all of a site in open formats; photos lose their position,
                                                  unless it is wanted
  deckbands pack FILE [--lesson ID] [--site ID]   write the gallery, or a lesson, as one signed file for a place without network
  deckbands unpack FILE [--key KEY] [--site ID]   check such a file and say who signed it; with their key, take it in
  deckbands schema NAME    print the JSON Schema of deck, corners, taps, profile, settings, aim, reading, hint, run
                           or sampling

A NAME.deck.json, NAME.corners.json or NAME.taps.json beside NAME's photo is used when no option says otherwise.
Without --out nothing is written. Exit code 0: all read; 1: some photo could not be read; 2: called wrongly.
`;

/** Every option takes a name, but for the switches. */
const OPTIONS: Record<string, readonly string[]> = {
  read: ["deck", "corners", "taps", "profile", "settings", "aim", "out", "json"],
  advise: ["deck", "profile", "settings", "aim", "before", "json"],
  compare: ["change", "deck", "profile", "settings", "json"],
  balance: ["out", "json"],
  sampling: ["out", "json"],
  setup: ["deck", "json"],
  marks: ["deck", "out"],
  serve: [],
  demo: [],
  backup: [],
  restore: [],
  migrate: [],
  export: ["site", "position"],
  pack: ["lesson", "site"],
  unpack: ["key", "site"],
  schema: [],
};
const SWITCHES = new Set(["json", "position", "help"]);

type Values = Record<string, string | undefined> & { json?: never; lesson?: string; site?: string; key?: string };
interface Call {
  readonly command: string;
  readonly names: readonly string[];
  readonly files: Values;
  readonly json: boolean;
  readonly position: boolean;
}

async function run(args: readonly string[]): Promise<number | null> {
  if (args.length === 0 || args.includes("--help") || args.includes("-h") || args[0] === "help") {
    process.stdout.write(HELP);
    return args.length === 0 ? 2 : 0;
  }
  const { command, names, files, json, position } = understand(args);
  switch (command) {
    case "read":
      return read(names, { ...files, json });
    case "advise":
      return advise(exactly(names, 1, "one reading")[0] ?? "", { ...files, json });
    case "compare": {
      const [before = "", after = ""] = exactly(names, 2, "two readings, the earlier first");
      return compare([before, after], { ...files, json });
    }
    case "balance": {
      const [sheet = ""] = exactly(names, 1, "one run sheet");
      const { balance } = await import("./commands/balance.ts"); // brings its own libraries
      return balance(sheet, { ...files, json });
    }
    case "sampling": {
      const [aim = ""] = exactly(names, 1, "one sampling aim");
      const { sampling } = await import("./commands/sampling.ts");
      return sampling(aim, { ...files, json });
    }
    case "setup":
      exactly(names, 0, "nothing");
      return setup({ ...files, json });
    case "marks":
      exactly(names, 0, "nothing");
      return marks({ ...files, json });
    case "backup":
    case "restore": {
      const [folder = ""] = exactly(
        names,
        1,
        command === "backup" ? "a new folder for the backup" : "the folder of a backup",
      );
      const { backup, restore } = await import("./commands/backup.ts"); // the database is loaded where it is wanted only
      return command === "backup" ? backup(folder) : restore(folder);
    }
    case "migrate": {
      exactly(names, 0, "nothing");
      const { migrate } = await import("./commands/migrate.ts");
      return migrate();
    }
    case "export": {
      const [folder = ""] = exactly(names, 1, "a new folder for the export");
      const { exportSite } = await import("./commands/export.ts");
      return exportSite(folder, { site: files.site, position });
    }
    case "pack":
    case "unpack": {
      const [path = ""] = exactly(names, 1, "one pack file");
      const { pack, unpack } = await import("./commands/pack.ts");
      return command === "pack" ? pack(path, files) : unpack(path, files);
    }
    case "schema":
      return schema(exactly(names, 1, "one kind of file")[0]);
    default: {
      exactly(names, 0, "nothing");
      const { serve, demo } = await import("./main.ts");
      await (command === "demo" ? demo() : serve());
      return null; // goes on serving
    }
  }
}

/** @throws {UsageError} for an unknown command or option, or an option without its file. */
function understand(args: readonly string[]): Call {
  const [command = "", ...rest] = args;
  const known = Object.hasOwn(OPTIONS, command) ? OPTIONS[command] : undefined;
  if (!known)
    throw new UsageError(`"${command}" is not a command. Choose ${Object.keys(OPTIONS).join(", ")}; see --help.`);
  const options = Object.fromEntries(
    known.map((name) => [name, { type: SWITCHES.has(name) ? "boolean" : "string" } as const]),
  );
  try {
    const { values, positionals } = parseArgs({ args: rest, options, allowPositionals: true });
    const { json, position, ...files } = values;
    const switches = { json: json === true, position: position === true };
    return { command, names: positionals, files: files as Values, ...switches };
  } catch (error) {
    const told = error instanceof Error ? (error.message.split(". ")[0] ?? "") : "";
    throw new UsageError(`${told}. See --help for what ${command} takes.`);
  }
}

function exactly(names: readonly string[], count: number, what: string): readonly string[] {
  if (names.length === count) return names;
  throw new UsageError(
    `Name ${what}; ${names.length === 0 ? "nothing was" : `${names.length} were`} named. See --help.`,
  );
}

process.stdout.on("error", (error: NodeJS.ErrnoException) => {
  if (error.code === "EPIPE") process.exit(0); // whoever read our answer has seen enough
  throw error;
});

try {
  const code = await run(process.argv.slice(2));
  if (code !== null) process.exitCode = code;
} catch (error) {
  if (process.env.DECKBANDS_DEBUG) console.error(error);
  process.stderr.write(`${error instanceof Error ? error.message : String(error)}\n`);
  process.exitCode = error instanceof UsageError ? 2 : 1;
}
