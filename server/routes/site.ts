import { NewSiteName, PersonList, Site } from "../../vision/contract/index.ts";
import { type Endpoint, endpoint } from "../endpoint.ts";
import type { Parts } from "../parts.ts";
import { peopleOf, renameSite, siteOf } from "../storage/data.ts";

/** The site that is worked in, and its people. */
export function siteRoutes({ data }: Parts): Endpoint[] {
  return [
    endpoint({ method: "get", path: "/api/site", says: "The site you work in", answer: Site }, ({ caller }) =>
      siteOf(data, caller),
    ),
    endpoint(
      { method: "patch", path: "/api/site", says: "Rename the site", body: NewSiteName, answer: Site },
      ({ caller, body }) => renameSite(data, caller, body.name),
    ),
    endpoint(
      { method: "get", path: "/api/people", says: "Who works in this site, and as what", answer: PersonList },
      async ({ caller }) => ({ items: await peopleOf(data, caller), next: null }),
    ),
  ];
}
