import { z } from "zod";
import { ContentId, Job, JobList } from "../../vision/contract/index.ts";
import { type Endpoint, endpoint } from "../endpoint.ts";
import type { Parts } from "../parts.ts";
import { askOf, PageQuery } from "../storage/pages.ts";
import { JOB_STATES } from "../storage/tables.ts";

const At = z.object({ id: ContentId });

/** Work under way, done, and given up on with the reason. */
export function jobRoutes({ jobs }: Parts): Endpoint[] {
  return [
    endpoint(
      {
        method: "get",
        path: "/api/jobs",
        right: "see",
        says: "Jobs, those asked for last first: all, or those in one state, such as given-up",
        query: PageQuery.extend({ state: z.enum(JOB_STATES).optional() }),
        answer: JobList,
      },
      ({ caller, query }) => jobs.list(caller, askOf(query), query.state),
    ),
    endpoint(
      {
        method: "get",
        path: "/api/jobs/:id",
        right: "see",
        says: "A job; its id is that of its reading",
        params: At,
        answer: Job,
      },
      ({ caller, params }) => jobs.one(caller, params.id),
    ),
    endpoint(
      {
        method: "post",
        path: "/api/jobs/:id/cancel",
        right: "work",
        says: "Cancel a job for everyone who waits",
        params: At,
        answer: Job,
      },
      ({ caller, params }) => jobs.cancel(caller, params.id),
    ),
    endpoint(
      {
        method: "post",
        path: "/api/jobs/:id/retry",
        right: "review",
        says: "Begin a job anew that was given up or cancelled",
        params: At,
        answer: Job,
      },
      ({ caller, params }) => jobs.retry(caller, params.id),
    ),
  ];
}
