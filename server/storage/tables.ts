import type { Insertable, Selectable } from "kysely";

/**
 * What the database holds, one interface a table; `migrations.ts` makes them. Only what SQLite and PostgreSQL both know:
 * text, whole numbers, foreign keys. Ids are random UUIDs, but for photos and readings, which are named by SHA-256.
 * Times are ISO 8601 in UTC to the millisecond, so that they sort as text. `*_json` columns hold checked documents.
 */
export interface Tables {
  sites: SiteRow;
  people: PersonRow;
  members: MemberRow;
  decks: DeckRow;
  deck_versions: DeckVersionRow;
  runs: RunRow;
  settings: SettingsRow;
  run_entries: RunEntryRow;
  photos: PhotoRow;
  readings: ReadingRow;
  current_readings: CurrentReadingRow;
  mark_ups: MarkUpRow;
  hints_taken: HintTakenRow;
  review_asks: ReviewAskRow;
  review_answers: ReviewAnswerRow;
  gallery_references: ReferenceRow;
  packs: PackRow;
  packed_references: PackedReferenceRow;
  made_references: MadeReferenceRow;
  lessons: LessonRow;
  lesson_tries: LessonTryRow;
  reports: ReportRow;
  jobs: JobRow;
  answers: AnswerRow;
  invitations: InvitationRow;
  devices: DeviceRow;
  shares: ShareRow;
  pushes: PushRow;
  alarms_told: AlarmToldRow;
  secrets: SecretRow;
}

export interface SiteRow {
  id: string;
  name: string;
  made_at: string;
}
export interface PersonRow {
  id: string;
  name: string;
  made_at: string;
}
export const ROLES = ["operator", "reviewer", "trainer", "owner"] as const;
export type Role = (typeof ROLES)[number];
export interface MemberRow {
  site_id: string;
  person_id: string;
  role: Role;
}
/** A way in for one more person, once. Of its secret only the digest is kept, as with devices and shares. */
export interface InvitationRow {
  id: string;
  site_id: string;
  person_id: string;
  role: Role;
  token_sha256: string;
  made_at: string;
  expires_at: string;
  used_at: string | null;
}
/** A phone or program that asks in a person's name. */
export interface DeviceRow {
  id: string;
  site_id: string;
  person_id: string;
  name: string;
  token_sha256: string;
  made_at: string;
  used_at: string | null;
}
/** One reading shown to whoever has the link. */
export interface ShareRow {
  id: string;
  site_id: string;
  person_id: string;
  reading_id: string;
  token_sha256: string;
  made_at: string;
  expires_at: string;
}

/** A browser that is told of a site's alarms, as it subscribed. */
export interface PushRow {
  id: string;
  site_id: string;
  person_id: string;
  endpoint: string;
  p256dh: string;
  auth: string;
  language: string;
  made_at: string;
}
/** An alarm that was told, by the reading that raised it. */
export interface AlarmToldRow {
  site_id: string;
  deck_id: string;
  reading_id: string;
  at: string;
}

/** A key of the server's own. */
export interface SecretRow {
  name: string;
  value: string;
}

export interface DeckRow {
  id: string;
  site_id: string;
  name: string;
  /** The newest version's number, from 1. */
  version: number;
  made_at: string;
}
/** A deck file as it once stood; never changed. */
export interface DeckVersionRow {
  deck_id: string;
  version: number;
  file_json: string;
  made_at: string;
}

/** A stretch of work on one table with one material. */
export interface RunRow {
  id: string;
  site_id: string;
  deck_id: string | null;
  name: string;
  material: string | null;
  started_at: string;
  ended_at: string | null;
  /** How many entries were written down of it. */
  log: number;
}
/** What was written down of a run; never changed. Without `entry_json` it withdraws the entry that it replaces. */
export interface RunEntryRow {
  id: string;
  site_id: string;
  run_id: string;
  person_id: string;
  /** From 1, in the order in which they came. */
  number: number;
  at: string;
  entry_json: string | null;
  replaces: string | null;
}
/** What the controls stood at, from `at` on. */
export interface SettingsRow {
  id: string;
  site_id: string;
  run_id: string;
  person_id: string;
  at: string;
  settings_json: string;
}

export interface PhotoRow {
  site_id: string;
  /** SHA-256 of the bytes as sent; the name of their blob. */
  sha256: string;
  preview_sha256: string;
  run_id: string | null;
  name: string;
  format: string;
  bytes: number;
  width_px: number;
  height_px: number;
  taken_at: string | null;
  sent_at: string;
}

/** Never changed once written, but for the run that its photo is of. */
export interface ReadingRow {
  id: string;
  site_id: string;
  photo: string;
  deck_id: string | null;
  deck_version: number | null;
  run_id: string | null;
  /** The reading this one was made anew from, by a newer program. */
  remade_from: string | null;
  program: string;
  usable: number;
  made_at: string;
  asked_json: string;
  overlay_sha256: string | null;
  classes_sha256: string | null;
  confidence_sha256: string | null;
  /** Last, so that lists don't drag it along. */
  reading_json: string;
}
/** Which reading of a photo counts now; its key holds that there is never more than one. */
export interface CurrentReadingRow {
  site_id: string;
  photo: string;
  reading_id: string;
}

/** A person's correction laid over a reading. */
export interface MarkUpRow {
  id: string;
  site_id: string;
  reading_id: string;
  person_id: string;
  made_at: string;
  mark_up_json: string;
  /** The blob that says what each cell shows; null: it says nothing of cells. */
  classes_sha256: string | null;
}
/** Somebody wants a reading looked at. */
export interface ReviewAskRow {
  id: string;
  site_id: string;
  reading_id: string;
  person_id: string;
  at: string;
  why: string;
  note: string | null;
}
/** What a reviewer answered; the latest one counts, none is ever changed. */
export interface ReviewAnswerRow {
  id: string;
  site_id: string;
  reading_id: string;
  person_id: string;
  at: string;
  answer_json: string;
}
/** A site's own reference photo. */
export interface ReferenceRow {
  id: string;
  site_id: string;
  reading_id: string;
  person_id: string;
  made_at: string;
  reference_json: string;
  classes_sha256: string | null;
}
export interface PackRow {
  id: string;
  site_id: string;
  person_id: string;
  made_at: string;
  name: string;
  /** The public key that signed it, base64url. */
  key: string;
}
/** A reference that came in a pack: named within its site alone, for another site may take in the same pack. */
export interface PackedReferenceRow {
  id: string;
  site_id: string;
  pack_id: string;
  person_id: string;
  made_at: string;
  reference_json: string;
  photo_sha256: string;
  classes_sha256: string | null;
}
export interface MadeReferenceRow {
  id: string;
  site_id: string;
  person_id: string;
  made_at: string;
  reference_json: string;
  photo_sha256: string;
  classes_sha256: string;
}
export interface LessonRow {
  id: string;
  site_id: string;
  person_id: string;
  made_at: string;
  name: string;
  lesson_json: string;
}
/** One try of one person at one task of a lesson. */
export interface LessonTryRow {
  id: string;
  site_id: string;
  person_id: string;
  lesson: string;
  at: string;
  try_json: string;
}
export interface HintTakenRow {
  id: string;
  site_id: string;
  reading_id: string;
  person_id: string;
  /** Which of the reading's hints, from 0. */
  hint: number;
  taken: "as said" | "otherwise" | "not";
  note: string | null;
  at: string;
}

/** What was told of a run at one moment: a page, the same as PDF, and CSV data as ZIP, kept as blobs. */
export interface ReportRow {
  id: string;
  site_id: string;
  run_id: string;
  made_at: string;
  page_sha256: string;
  pdf_sha256: string | null;
  data_sha256: string | null;
}

export const JOB_STATES = ["waiting", "working", "done", "cancelled", "given-up"] as const;
export type JobState = (typeof JOB_STATES)[number];
export interface JobRow {
  /** Also the id of the reading or report that comes of it. */
  id: string;
  site_id: string;
  kind: "reading" | "remake" | "report";
  /** What is read, or the run that is told of. */
  photo: string | null;
  run_id: string | null;
  state: JobState;
  /** What was asked, and what a worker needs to know. */
  payload_json: string;
  /** Less goes first. */
  priority: number;
  /** How many asked for it and still wait. */
  askers: number;
  /** Tries begun. */
  tries: number;
  /** How often the server stopped under it; no fault of the photo. */
  interruptions: number;
  /** Not before this. */
  due_at: string;
  /** Who works on it, and until when that may be believed. */
  holder: string | null;
  lease_until: string | null;
  stage: string;
  /** Why it was given up, or why the last try failed: a Problem. */
  problem_json: string | null;
  asked_at: string;
  ended_at: string | null;
}

/** What was answered to a write with an Idempotency-Key, to answer the same again. */
export interface AnswerRow {
  site_id: string;
  key: string;
  request: string;
  status: number | null;
  headers_json: string | null;
  body: string | null;
  at: string;
}

export type Row<Table extends keyof Tables> = Selectable<Tables[Table]>;
export type NewRow<Table extends keyof Tables> = Insertable<Tables[Table]>;
