import { z } from "zod";
import { DeckFile } from "./deck-file.ts";
import { ContentId } from "./http.ts";
import { SettingsFile, Tap } from "./notes.ts";
import { Hint } from "./reading.ts";
import { ClassName, DeckPair, listOf, MarkedEdge, Product, SchemaVersion } from "./shapes.ts";

/** What a server keeps, as it tells of it. Times are UTC, ISO 8601 to the millisecond. */

export const Id = z.uuid();
export const Time = z.iso.datetime({ precision: 3 });
const Name = z.string().trim().min(1).max(200);
const Note = z.string().max(4000);

/** A place where people work, with its decks. */
export const Site = z.strictObject({ id: Id, name: Name, madeAt: Time });
export type Site = z.infer<typeof Site>;
export const SiteList = listOf(Site);
export const NewSiteName = z.strictObject({ name: Name });

export const Person = z.strictObject({
  id: Id,
  name: Name,
  role: z.enum(["operator", "reviewer", "trainer", "owner"]),
});
export type Person = z.infer<typeof Person>;
export const PersonList = listOf(Person);
export const Role = Person.shape.role;
export type Role = z.infer<typeof Role>;

/** A way in for one more person. `link` and its QR code (SVG) are told once, when it is made. */
export const Invitation = z.strictObject({
  id: Id,
  role: Role,
  madeAt: Time,
  expiresAt: Time,
  usedAt: Time.nullable(),
});
export type Invitation = z.infer<typeof Invitation>;
export const NewInvitation = z.strictObject({ role: Role, days: z.number().int().min(1).max(30).default(7) });
export const MadeInvitation = Invitation.extend({ link: z.string(), qrSvg: z.string() });
export const InvitationList = listOf(Invitation);

/** A phone or program that asks in a person's name, with `Authorization: Bearer TOKEN`; the token is told once. */
export const Device = z.strictObject({ id: Id, name: Name, person: Id, madeAt: Time, usedAt: Time.nullable() });
export type Device = z.infer<typeof Device>;
export const NewDevice = z.strictObject({ name: Name });
export const MadeDevice = Device.extend({ token: z.string() });
export const DeviceList = listOf(Device);

/** One reading shown to whoever has the link, until it expires or is withdrawn. The link is told once. */
export const Share = z.strictObject({ id: Id, reading: ContentId, madeAt: Time, expiresAt: Time });
export type Share = z.infer<typeof Share>;
export const NewShare = z.strictObject({ days: z.number().int().min(1).max(90).default(14) });
export const MadeShare = Share.extend({ link: z.string(), qrSvg: z.string() });
export const ShareList = listOf(Share);

/** A deck with the newest version of its file. */
export const Deck = z.strictObject({
  id: Id,
  name: Name,
  version: z.number().int().min(1),
  madeAt: Time,
  file: DeckFile,
});
export type Deck = z.infer<typeof Deck>;
export const NewDeck = z.strictObject({ name: Name, file: DeckFile });
export type NewDeck = z.infer<typeof NewDeck>;
export const DeckList = listOf(Deck.omit({ file: true }));
export const DeckVersion = z.strictObject({ version: z.number().int().min(1), madeAt: Time, file: DeckFile });
export type DeckVersion = z.infer<typeof DeckVersion>;
export const DeckVersionList = listOf(DeckVersion);

export const Run = z.strictObject({
  id: Id,
  name: Name,
  deck: Id.nullable(),
  material: Name.nullable(),
  startedAt: Time,
  endedAt: Time.nullable(),
});
export type Run = z.infer<typeof Run>;
export const NewRun = z.strictObject({
  name: Name,
  deck: Id.nullable().default(null),
  material: Name.nullable().default(null),
  /** Now, where it is not said. */
  startedAt: Time.optional(),
});
export type NewRun = z.infer<typeof NewRun>;
/** What changes about a run; `endedAt` null opens it again. */
export const RunChange = z.strictObject({
  name: Name.optional(),
  material: Name.nullable().optional(),
  endedAt: Time.nullable().optional(),
});
export type RunChange = z.infer<typeof RunChange>;
export const RunList = listOf(Run);

/** What the controls stood at, from `at` on. */
export const SettingsEntry = z.strictObject({ id: Id, at: Time, person: Id, settings: SettingsFile });
export type SettingsEntry = z.infer<typeof SettingsEntry>;
export const NewSettingsEntry = z.strictObject({ at: Time.optional(), settings: SettingsFile });
export const SettingsList = listOf(SettingsEntry);

export const StoredPhoto = z.strictObject({
  id: ContentId,
  name: z.string(),
  format: z.string(),
  bytes: z.number().int().positive(),
  widthPx: z.number().int().positive(),
  heightPx: z.number().int().positive(),
  takenAt: z.string().nullable(),
  sentAt: Time,
  run: Id.nullable(),
  /** The reading that counts now; null where it was never read. */
  reading: ContentId.nullable(),
});
export type StoredPhoto = z.infer<typeof StoredPhoto>;
export const PhotoList = listOf(StoredPhoto);

/** Which run a photo is of; null: of none. */
export const PhotoChange = z.strictObject({ run: Id.nullable() });

/** A reading in one line. */
export const ReadingSummary = z.strictObject({
  id: ContentId,
  photo: ContentId,
  madeAt: Time,
  /** Version of the program, and a digest of its model. */
  program: z.string(),
  usable: z.boolean(),
  deck: Id.nullable(),
  deckVersion: z.number().int().nullable(),
  run: Id.nullable(),
  remadeFrom: ContentId.nullable(),
});
export type ReadingSummary = z.infer<typeof ReadingSummary>;
export const ReadingList = listOf(ReadingSummary);

/** How far an edge of a band lies from where another reading of the same deck has it, mm along the outlet. */
export const Comparison = z.strictObject({
  before: ContentId,
  after: ContentId,
  edges: z.array(
    z.strictObject({
      kind: Product,
      edge: z.enum(["from", "to"]),
      beforeMm: z.number(),
      afterMm: z.number(),
      movedMm: z.number(),
      /** One standard error of `movedMm`. */
      errorMm: z.number(),
      withinNoise: z.boolean(),
    }),
  ),
});
export type Comparison = z.infer<typeof Comparison>;

/** A person's correction, laid over a reading that stays as it is. */
export const MarkUpFile = z.strictObject({
  schemaVersion: SchemaVersion,
  /** What spots of the photo show. */
  taps: z.array(Tap).max(1000).default([]),
  /** Where edges of bands lie, mm along the outlet. */
  edges: z.array(MarkedEdge).max(100).default([]),
  /** Areas that people drew, such as dry patches: closed lines on the deck, mm. */
  patches: z
    .array(z.strictObject({ class: ClassName, outline: z.array(DeckPair).min(3).max(2000) }))
    .max(200)
    .default([]),
  note: Note.nullable().default(null),
});
export type MarkUpFile = z.infer<typeof MarkUpFile>;
/** A mark-up as it is sent: with what each cell of the reading's grid shows, as PNG of one channel or a palette, base64. */
export const NewMarkUp = MarkUpFile.extend({ classesPng: z.base64().max(800_000).nullable().default(null) });
export type NewMarkUp = z.infer<typeof NewMarkUp>;
/** `classes`: the mark-up says what each cell shows, at /api/mark-ups/ID/classes.png. */
export const MarkUp = z.strictObject({
  id: Id,
  reading: ContentId,
  person: Id,
  madeAt: Time,
  classes: z.boolean(),
  markUp: MarkUpFile,
});
export type MarkUp = z.infer<typeof MarkUp>;
export const MarkUpList = listOf(MarkUp);

const Part = z.number().min(0).max(1);
/** How far a mark-up agrees with the reading or with another mark-up of it. Positive mm: the mark-up has the edge further along. */
export const Agreement = z.strictObject({
  markUp: Id,
  /** Another mark-up's id, or `reading`. */
  with: z.string(),
  /** Null where one of the two does not say what each cell shows. */
  overlap: z
    .strictObject({
      /** Shared cells over all cells of a class (Jaccard, 1912), 0 to 1; null: neither has the class. */
      iou: z.record(ClassName.exclude(["unseen"]), Part.nullable()),
      /** Mean of those that are there; null when none is. */
      meanIou: Part.nullable(),
      /** Share of the cells that both know on which they agree; null when there is no such cell. */
      sameShare: Part.nullable(),
      /** Cells that both know. */
      cells: z.number().int().min(0),
    })
    .nullable(),
  edges: z.strictObject({
    pairs: z.array(
      z.strictObject({
        kind: Product,
        edge: z.enum(["from", "to"]),
        aMm: z.number(),
        bMm: z.number(),
        /** `bMm − aMm`: positive where `b` has it further along the outlet. */
        apartMm: z.number(),
      }),
    ),
    /** Edges that the other one has not near by. */
    onlyA: z.array(MarkedEdge),
    onlyB: z.array(MarkedEdge),
    /** Of the pairs' distances, mm; null without pairs. */
    medianMm: z.number().nullable(),
    rmsMm: z.number().nullable(),
  }),
});
export type Agreement = z.infer<typeof Agreement>;

/** Whether a hint of a reading was followed. */
export const HintTaken = z.strictObject({
  id: Id,
  person: Id,
  at: Time,
  /** Which of the reading's hints, from 0, and that hint. */
  hint: z.number().int().min(0),
  said: Hint,
  taken: z.enum(["as said", "otherwise", "not"]),
  note: Note.nullable(),
});
export type HintTaken = z.infer<typeof HintTaken>;
export const NewHintTaken = z.strictObject({
  hint: z.number().int().min(0),
  taken: z.enum(["as said", "otherwise", "not"]),
  note: Note.nullable().default(null),
  at: Time.optional(),
});
export const HintTakenList = listOf(HintTaken);

/** What was told of a run at one moment; the page itself is at /api/reports/ID. */
export const Report = z.strictObject({ id: ContentId, run: Id, madeAt: Time });
export type Report = z.infer<typeof Report>;
export const ReportList = listOf(Report);
export const ReportReceipt = z.strictObject({ id: ContentId });

/** Work that is done by itself: a photo read, or read anew by a newer program, or a run told of. Its id is that of what comes of it. */
export const Job = z.strictObject({
  id: ContentId,
  kind: z.enum(["reading", "remake", "report"]),
  photo: ContentId.nullable(),
  run: Id.nullable(),
  state: z.enum(["waiting", "working", "done", "cancelled", "given-up"]),
  stage: z.string(),
  /** Tries begun. */
  tries: z.number().int().min(0),
  askedAt: Time,
  /** When it will be tried, where it waits. */
  dueAt: Time.nullable(),
  endedAt: Time.nullable(),
  /** Why it was given up, or why the last try failed. */
  problem: z.strictObject({ code: z.string(), detail: z.string() }).nullable(),
});
export type Job = z.infer<typeof Job>;
export const JobList = listOf(Job);
