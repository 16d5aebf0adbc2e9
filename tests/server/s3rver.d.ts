/** The part of s3rver that the tests use. */
declare module "s3rver" {
  import type { RequestListener } from "node:http";
  export default class S3rver {
    constructor(options: { directory: string; silent: boolean; configureBuckets: { name: string }[] });
    configureBuckets(): Promise<unknown>;
    callback(): RequestListener;
  }
}
