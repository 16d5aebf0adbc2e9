import { readFile, rm } from "node:fs/promises";
import { Readable } from "node:stream";
import {
  DeleteObjectCommand,
  GetObjectCommand,
  HeadBucketCommand,
  HeadObjectCommand,
  ListObjectsV2Command,
  PutObjectCommand,
  S3Client,
  type S3ServiceException,
} from "@aws-sdk/client-s3";
import { sha256 } from "../sha256.ts";
import { Turns } from "../turns.ts";
import { UsageError } from "../usage.ts";
import { BLOB, type Blobs, checked } from "./blobs.ts";
import { type Incoming, IncomingFolder } from "./incoming.ts";
import { StoreAway } from "./store-faults.ts";

/** Its newer versions will want a newer Node; this one runs on 20, and need not say so at every start. */
process.env.AWS_SDK_JS_NODE_VERSION_SUPPORT_WARNING_DISABLED ??= "true";

/** How long to wait for a connection, and for the storage to go on, ms; then it counts as away. */
const CONNECT_MS = 5000;
const SILENT_MS = 20_000;
/** Tries of one request, with waits that grow. */
const TRIES = 3;
/** Blobs that are sent at the same time: each is in memory meanwhile. */
const AT_ONCE = 8;

/** Blobs as objects of a bucket that speaks Amazon's S3; what is coming in lies on this machine's disk first. */
export class BlobBucket extends IncomingFolder implements Blobs {
  readonly #client: S3Client;
  readonly #bucket: string;
  readonly #prefix: string;
  readonly #sending = new Turns(AT_ONCE);

  private constructor(folder: string, at: URL) {
    super(folder);
    const [bucket = "", ...prefix] = decodeURIComponent(at.pathname).split("/").filter(Boolean);
    this.#bucket = bucket;
    this.#prefix = prefix.map((part) => `${part}/`).join("");
    this.#client = new S3Client({
      endpoint: at.origin,
      forcePathStyle: true,
      region: process.env.AWS_REGION || "us-east-1",
      maxAttempts: TRIES,
      requestHandler: { connectionTimeout: CONNECT_MS, requestTimeout: SILENT_MS, socketTimeout: SILENT_MS },
      // older storage knows no others than the one that is sent along
      requestChecksumCalculation: "WHEN_REQUIRED",
      responseChecksumValidation: "WHEN_REQUIRED",
    });
  }

  /**
   * @param folder  Where files lie while they come in.
   * @param at  `https://HOST/BUCKET`, or a part of a bucket, `https://HOST/BUCKET/PART`. Who asks is told by
   *   AWS_ACCESS_KEY_ID and AWS_SECRET_ACCESS_KEY, or by any other way that the library knows.
   * @throws {UsageError} when the bucket cannot be used.
   */
  static async open(folder: string, at: string): Promise<BlobBucket> {
    const blobs = new BlobBucket(folder, new URL(at));
    await blobs.begin();
    try {
      await blobs.#client.send(new HeadBucketCommand({ Bucket: blobs.#bucket }));
    } catch (error) {
      blobs.close();
      const why = statusOf(error) ?? (error instanceof Error ? error.message || error.name : String(error));
      throw new UsageError(
        `The bucket of DECKBANDS_OBJECTS cannot be used (${why}). Make it, or look at its address and keys.`,
      );
    }
    return blobs;
  }

  close(): void {
    this.#client.destroy();
  }

  async keep(bytes: Uint8Array): Promise<string> {
    const id = sha256(bytes);
    if ((await this.size(id)) !== bytes.length) await this.#put(id, bytes);
    return id;
  }

  async adopt({ path, sha256: id, bytes }: Incoming): Promise<void> {
    if ((await this.size(id)) !== bytes) {
      const giveBack = await this.#sending.take();
      try {
        await this.#put(id, await readFile(path));
      } finally {
        giveBack();
      }
    }
    await rm(path, { force: true });
  }

  async read(id: string): Promise<Buffer | null> {
    return this.#unlessMissing(async () => {
      const { Body } = await this.#client.send(new GetObjectCommand(this.#at(id)));
      return Buffer.from(await Body!.transformToByteArray());
    });
  }

  stream(id: string, from: number, to: number): Readable {
    const at = { ...this.#at(id), Range: `bytes=${from}-${to}` };
    const parts = async function* (client: S3Client) {
      const { Body } = await client.send(new GetObjectCommand(at)).catch(away);
      yield* Body as Readable;
    };
    return Readable.from(parts(this.#client), { objectMode: false });
  }

  async size(id: string): Promise<number | null> {
    return (await this.#head(id))?.ContentLength ?? null;
  }

  async keptAt(id: string): Promise<number | null> {
    return (await this.#head(id))?.LastModified?.getTime() ?? null;
  }

  async remove(id: string): Promise<void> {
    await this.#client.send(new DeleteObjectCommand(this.#at(id))).catch(away);
  }

  /** @param MaxKeys  How many are asked for at a time; no storage tells more than 1000. */
  async *list(MaxKeys = 1000): AsyncIterable<string> {
    const of = { Bucket: this.#bucket, Prefix: this.#prefix, MaxKeys };
    for (let StartAfter: string | undefined; ; ) {
      const { Contents = [], IsTruncated } = await this.#client
        .send(new ListObjectsV2Command({ ...of, StartAfter }))
        .catch(away);
      const names = Contents.map(({ Key = "" }) => Key.slice(this.#prefix.length));
      yield* names.filter((name) => BLOB.test(name)); // what else lies there is not ours
      StartAfter = Contents.at(-1)?.Key;
      if (!IsTruncated || StartAfter === undefined) return;
    }
  }

  /** The storage checks the bytes against their name, which is their SHA-256. */
  async #put(id: string, bytes: Uint8Array): Promise<void> {
    const ChecksumSHA256 = Buffer.from(id, "hex").toString("base64");
    await this.#client.send(new PutObjectCommand({ ...this.#at(id), Body: bytes, ChecksumSHA256 })).catch(away);
  }

  #head(id: string) {
    return this.#unlessMissing(() => this.#client.send(new HeadObjectCommand(this.#at(id))));
  }

  #at(id: string) {
    return { Bucket: this.#bucket, Key: this.#prefix + checked(id) };
  }

  async #unlessMissing<T>(work: () => Promise<T>): Promise<T | null> {
    try {
      return await work();
    } catch (error) {
      if (statusOf(error) === 404) return null;
      return away(error);
    }
  }
}

const statusOf = (error: unknown) => (error as Partial<S3ServiceException>).$metadata?.httpStatusCode;

function away(error: unknown): never {
  if (error instanceof TypeError) throw error;
  throw new StoreAway("The object storage does not do what was asked.", { cause: error });
}
