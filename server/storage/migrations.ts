import type { CreateTableBuilder, Kysely, Migration } from "kysely";

/**
 * Steps from one shape of the database to the next, by name, in order. A step that has shipped is never edited: add one.
 * Only words that SQLite and PostgreSQL share.
 */
export const MIGRATIONS: Readonly<Record<string, Migration>> = {
  "0001-start": { up: start },
  "0002-people": { up: people },
  "0003-passkeys": { up: passkeys },
  "0004-run-log": { up: runLog },
  "0005-reports-to-print": { up: reportsToPrint },
  "0006-review": { up: review },
  "0007-alarms": { up: alarms },
  "0008-packs": { up: packs },
  "0009-made-decks": { up: madeDecks },
  "0010-secrets": { up: secrets },
};

type Db = Kysely<unknown>;
type Table = CreateTableBuilder<string, string>;

async function start(db: Db): Promise<void> {
  const table = (name: string, columns: (table: Table) => Table) => columns(db.schema.createTable(name)).execute();
  const index = (name: string, of: string, columns: string[]) =>
    db.schema.createIndex(name).on(of).columns(columns).execute();

  await table("sites", (t) => named(t));
  await table("people", (t) => named(t));
  await table("members", (t) =>
    ofSite(text(t, "person_id", "role"))
      .addPrimaryKeyConstraint("members_key", ["site_id", "person_id"])
      .addForeignKeyConstraint("members_person", ["person_id"], "people", ["id"], (fk) => fk.onDelete("cascade")),
  );

  await table("decks", (t) => ofSite(numbers(named(t), "version")));
  await table("deck_versions", (t) =>
    numbers(text(t, "deck_id", "file_json", "made_at"), "version")
      .addPrimaryKeyConstraint("deck_versions_key", ["deck_id", "version"])
      .addForeignKeyConstraint("deck_versions_deck", ["deck_id"], "decks", ["id"], (fk) => fk.onDelete("cascade")),
  );
  await index("decks_of_site", "decks", ["site_id", "made_at", "id"]);

  await table("runs", (t) =>
    ofSite(maybe(text(keyed(t), "name", "started_at"), "deck_id", "material", "ended_at")).addForeignKeyConstraint(
      "runs_deck",
      ["deck_id"],
      "decks",
      ["id"],
    ),
  );
  await index("runs_of_site", "runs", ["site_id", "started_at", "id"]);
  await table("settings", (t) => byPerson(ofRun(ofSite(text(keyed(t), "run_id", "at", "settings_json")))));
  await index("settings_of_run", "settings", ["run_id", "at", "id"]);

  await table("photos", (t) =>
    ofSite(
      numbers(
        maybe(text(t, "sha256", "preview_sha256", "name", "format", "sent_at"), "run_id", "taken_at"),
        "bytes",
        "width_px",
        "height_px",
      ),
    )
      .addPrimaryKeyConstraint("photos_key", ["site_id", "sha256"])
      .addForeignKeyConstraint("photos_run", ["run_id"], "runs", ["id"]),
  );
  await index("photos_of_site", "photos", ["site_id", "sent_at", "sha256"]);
  await index("photos_by_content", "photos", ["sha256"]);
  await index("photos_by_preview", "photos", ["preview_sha256"]);

  await table("readings", (t) => {
    const columns = numbers(text(keyed(t), "photo", "program", "made_at", "asked_json"), "usable");
    const links = maybe(columns, "deck_id", "run_id", "remade_from");
    const pictures = maybe(links, "overlay_sha256", "classes_sha256", "confidence_sha256");
    return ofPhoto(ofSite(text(pictures.addColumn("deck_version", "integer"), "reading_json")))
      .addForeignKeyConstraint("readings_deck", ["deck_id", "deck_version"], "deck_versions", ["deck_id", "version"])
      .addForeignKeyConstraint("readings_run", ["run_id"], "runs", ["id"]);
  });
  await index("readings_of_site", "readings", ["site_id", "made_at", "id"]);
  await index("readings_of_deck", "readings", ["site_id", "deck_id", "made_at", "id"]);
  await index("readings_of_run", "readings", ["site_id", "run_id", "made_at", "id"]);
  await index("readings_of_photo", "readings", ["site_id", "photo", "made_at", "id"]);
  for (const picture of ["overlay", "classes", "confidence"]) {
    await index(`readings_by_${picture}`, "readings", [`${picture}_sha256`]);
  }
  await table("current_readings", (t) =>
    ofReading(ofPhoto(ofSite(text(t, "photo", "reading_id")))).addPrimaryKeyConstraint("current_readings_key", [
      "site_id",
      "photo",
    ]),
  );
  await index("current_by_reading", "current_readings", ["reading_id"]);

  await table("mark_ups", (t) => byPerson(ofReading(ofSite(text(keyed(t), "reading_id", "made_at", "mark_up_json")))));
  await index("mark_ups_of_reading", "mark_ups", ["reading_id", "made_at", "id"]);
  await table("hints_taken", (t) =>
    byPerson(ofReading(ofSite(maybe(numbers(text(keyed(t), "reading_id", "taken", "at"), "hint"), "note")))),
  );
  await index("hints_taken_of_reading", "hints_taken", ["reading_id", "at", "id"]);

  await table("reports", (t) => ofRun(ofSite(text(keyed(t), "run_id", "made_at", "page_sha256"))));
  await index("reports_of_run", "reports", ["run_id", "made_at", "id"]);
  await index("reports_by_page", "reports", ["page_sha256"]);

  await table("jobs", (t) => {
    const columns = text(
      maybe(keyed(t), "photo", "run_id"),
      "kind",
      "state",
      "payload_json",
      "due_at",
      "stage",
      "asked_at",
    );
    const counts = numbers(columns, "priority", "askers", "tries", "interruptions");
    return ofRun(ofPhoto(ofSite(maybe(counts, "holder", "lease_until", "problem_json", "ended_at"))));
  });
  await index("jobs_next", "jobs", ["state", "priority", "due_at"]);
  await index("jobs_of_site", "jobs", ["site_id", "asked_at", "id"]);
  await index("jobs_of_photo", "jobs", ["site_id", "photo"]);

  await table("answers", (t) =>
    ofSite(maybe(text(t, "key", "request", "at"), "headers_json", "body"))
      .addColumn("status", "integer")
      .addPrimaryKeyConstraint("answers_key", ["site_id", "key"]),
  );
  await index("answers_by_age", "answers", ["at"]);
}

/** Who may do what, and what is shared. Tables of better-auth have its own column names. */
async function people(db: Db): Promise<void> {
  const table = (name: string, columns: (table: Table) => Table) => columns(db.schema.createTable(name)).execute();
  const dates = (t: Table, ...names: string[]) =>
    names.reduce((so, name) => so.addColumn(name, "timestamptz", (c) => c.notNull()), t);
  const ofUser = (t: Table) =>
    text(t, "userId").addForeignKeyConstraint("of_user", ["userId"], "auth_users", ["id"], (fk) =>
      fk.onDelete("cascade"),
    );

  await table("auth_users", (t) =>
    dates(maybe(text(keyed(t), "name"), "image"), "createdAt", "updatedAt")
      .addColumn("email", "text", (c) => c.notNull().unique())
      .addColumn("emailVerified", "boolean", (c) => c.notNull()),
  );
  await table("auth_sessions", (t) =>
    ofUser(dates(maybe(keyed(t), "ipAddress", "userAgent"), "expiresAt", "createdAt", "updatedAt")).addColumn(
      "token",
      "text",
      (c) => c.notNull().unique(),
    ),
  );
  await table("auth_accounts", (t) =>
    ofUser(
      dates(
        maybe(text(keyed(t), "accountId", "providerId"), "accessToken", "refreshToken", "idToken", "scope", "password"),
        "createdAt",
        "updatedAt",
      ),
    )
      .addColumn("accessTokenExpiresAt", "timestamptz")
      .addColumn("refreshTokenExpiresAt", "timestamptz"),
  );
  await table("auth_verifications", (t) =>
    dates(text(keyed(t), "identifier", "value"), "expiresAt", "createdAt", "updatedAt"),
  );
  const index = (name: string, of: string, columns: string[]) =>
    db.schema.createIndex(name).on(of).columns(columns).execute();
  await index("auth_sessions_of_user", "auth_sessions", ["userId"]);
  await index("auth_accounts_of_user", "auth_accounts", ["userId"]);
  await index("auth_verifications_by_identifier", "auth_verifications", ["identifier"]);

  const secret = (t: Table) => t.addColumn("token_sha256", "text", (c) => c.notNull().unique());
  await table("invitations", (t) =>
    byPerson(ofSite(secret(maybe(text(keyed(t), "role", "made_at", "expires_at"), "used_at")))),
  );
  await table("devices", (t) => byPerson(ofSite(secret(maybe(text(keyed(t), "name", "made_at"), "used_at")))));
  await table("shares", (t) =>
    byPerson(ofReading(ofSite(secret(text(keyed(t), "reading_id", "made_at", "expires_at"))))),
  );
  for (const [name, time] of [
    ["invitations", "made_at"],
    ["devices", "made_at"],
    ["shares", "made_at"],
  ] as const) {
    await index(`${name}_of_site`, name, ["site_id", time, "id"]);
  }
}

/** Public keys that people log in with; better-auth's own column names. */
async function passkeys(db: Db): Promise<void> {
  const table = db.schema.createTable("auth_passkeys");
  const columns = maybe(
    text(keyed(table), "publicKey", "userId", "credentialID", "deviceType"),
    "name",
    "transports",
    "aaguid",
  );
  await numbers(columns, "counter")
    .addColumn("backedUp", "boolean", (c) => c.notNull())
    .addColumn("createdAt", "timestamptz")
    .addForeignKeyConstraint("of_user", ["userId"], "auth_users", ["id"], (fk) => fk.onDelete("cascade"))
    .execute();
  const index = (name: string, column: string) =>
    db.schema.createIndex(name).on("auth_passkeys").column(column).execute();
  await index("auth_passkeys_of_user", "userId");
  await index("auth_passkeys_by_credential", "credentialID");
}

/** What is written down of a run, entry by entry; two people who correct the same one cannot both do so. */
async function runLog(db: Db): Promise<void> {
  await db.schema
    .alterTable("runs")
    .addColumn("log", "bigint", (c) => c.notNull().defaultTo(0))
    .execute();
  const table = db.schema.createTable("run_entries");
  await byPerson(
    ofRun(
      ofSite(
        numbers(maybe(text(keyed(table), "run_id", "at"), "entry_json"), "number").addColumn("replaces", "text", (c) =>
          c.unique().references("run_entries.id"),
        ),
      ),
    ),
  ).execute();
  await db.schema.createIndex("run_entries_of_run").on("run_entries").columns(["run_id", "at", "id"]).execute();
}

/** A report as PDF, and the data beside it; earlier reports have neither. */
async function reportsToPrint(db: Db): Promise<void> {
  for (const column of ["pdf_sha256", "data_sha256"]) {
    await db.schema.alterTable("reports").addColumn(column, "text").execute();
    await db.schema.createIndex(`reports_by_${column}`).on("reports").column(column).execute();
  }
}

/** Masks of mark-ups; readings that were asked about and answered; references; lessons. */
async function review(db: Db): Promise<void> {
  const index = (of: string, columns: string[]) =>
    db.schema.createIndex(`${of}_by_${columns[0]}`).on(of).columns(columns).execute();
  await db.schema.alterTable("mark_ups").addColumn("classes_sha256", "text").execute();
  await index("mark_ups", ["classes_sha256"]);
  const table = (name: string) => keyed(db.schema.createTable(name));
  await byPerson(ofReading(ofSite(maybe(text(table("review_asks"), "reading_id", "at", "why"), "note")))).execute();
  await byPerson(ofReading(ofSite(text(table("review_answers"), "reading_id", "at", "answer_json")))).execute();
  await byPerson(
    ofReading(
      ofSite(maybe(text(table("gallery_references"), "reading_id", "made_at", "reference_json"), "classes_sha256")),
    ),
  ).execute();
  await byPerson(ofSite(text(table("lessons"), "name", "made_at", "lesson_json"))).execute();
  await byPerson(ofSite(text(table("lesson_tries"), "lesson", "at", "try_json"))).execute();
  for (const of of ["review_asks", "review_answers"]) {
    await index(of, ["reading_id", "at", "id"]);
    await index(of, ["site_id", "at", "id"]);
  }
  await index("gallery_references", ["site_id", "made_at", "id"]);
  await index("gallery_references", ["reading_id"]);
  await index("gallery_references", ["classes_sha256"]);
  await index("lessons", ["site_id", "made_at", "id"]);
  await index("lesson_tries", ["site_id", "at", "id"]);
}

/** Browsers that are told of alarms; alarms that were told. */
async function alarms(db: Db): Promise<void> {
  const pushes = text(keyed(db.schema.createTable("pushes")), "endpoint", "p256dh", "auth", "language", "made_at");
  await byPerson(ofSite(pushes)).execute();
  await db.schema.createIndex("pushes_by_endpoint").on("pushes").columns(["site_id", "endpoint"]).unique().execute();
  await ofReading(ofSite(text(db.schema.createTable("alarms_told"), "deck_id", "reading_id", "at")))
    .addPrimaryKeyConstraint("alarms_told_key", ["deck_id", "reading_id"])
    .addForeignKeyConstraint("of_deck", ["deck_id"], "decks", ["id"], (fk) => fk.onDelete("cascade"))
    .execute();
}

/** Packs taken in, and the references that came in them: those have pictures of their own, and no reading. */
async function packs(db: Db): Promise<void> {
  const index = (of: string, columns: string[]) =>
    db.schema.createIndex(`${of}_by_${columns[0]}`).on(of).columns(columns).execute();
  await byPerson(ofSite(text(keyed(db.schema.createTable("packs")), "name", "made_at", "key"))).execute();
  await byPerson(
    ofSite(
      maybe(
        text(db.schema.createTable("packed_references"), "id", "pack_id", "made_at", "reference_json", "photo_sha256"),
        "classes_sha256",
      ),
    ),
  )
    .addPrimaryKeyConstraint("packed_references_key", ["site_id", "id"])
    .addForeignKeyConstraint("of_pack", ["pack_id"], "packs", ["id"], (fk) => fk.onDelete("cascade"))
    .execute();
  await index("packs", ["site_id", "key"]);
  await index("packed_references", ["photo_sha256"]);
  await index("packed_references", ["classes_sha256"]);
}

/** References whose pictures the scene maker made. */
async function madeDecks(db: Db): Promise<void> {
  const table = db.schema.createTable("made_references");
  await byPerson(ofSite(text(table, "id", "made_at", "reference_json", "photo_sha256", "classes_sha256")))
    .addPrimaryKeyConstraint("made_references_key", ["site_id", "id"])
    .execute();
  for (const column of ["photo_sha256", "classes_sha256"])
    await db.schema.createIndex(`made_references_by_${column}`).on("made_references").columns([column]).execute();
}

/** The server's own keys, where rows are shared by several processes; a data folder has files. */
async function secrets(db: Db): Promise<void> {
  await text(
    db.schema.createTable("secrets").addColumn("name", "text", (c) => c.primaryKey()),
    "value",
  ).execute();
}

const keyed = (t: Table) => t.addColumn("id", "text", (c) => c.primaryKey());
const named = (t: Table) => text(keyed(t), "name", "made_at");
const text = (t: Table, ...names: string[]) =>
  names.reduce((so, name) => so.addColumn(name, "text", (c) => c.notNull()), t);
const maybe = (t: Table, ...names: string[]) => names.reduce((so, name) => so.addColumn(name, "text"), t);
const numbers = (t: Table, ...names: string[]) =>
  names.reduce((so, name) => so.addColumn(name, "bigint", (c) => c.notNull()), t);

/** What belongs to a site goes with it. */
const ofSite = (t: Table) =>
  t.addColumn("site_id", "text", (c) => c.notNull().references("sites.id").onDelete("cascade"));
const ofRun = (t: Table) =>
  t.addForeignKeyConstraint("of_run", ["run_id"], "runs", ["id"], (fk) => fk.onDelete("cascade"));
const ofPhoto = (t: Table) =>
  t.addForeignKeyConstraint("of_photo", ["site_id", "photo"], "photos", ["site_id", "sha256"], (fk) =>
    fk.onDelete("cascade"),
  );
const ofReading = (t: Table) =>
  t.addForeignKeyConstraint("of_reading", ["reading_id"], "readings", ["id"], (fk) => fk.onDelete("cascade"));
const byPerson = (t: Table) =>
  t
    .addColumn("person_id", "text", (c) => c.notNull())
    .addForeignKeyConstraint("by_person", ["person_id"], "people", ["id"]);
