import { z } from "zod";
import { NewSiteName, Site, SiteList } from "../../vision/contract/index.ts";
import { type Endpoint, endpoint } from "../endpoint.ts";
import type { Parts } from "../parts.ts";
import { addSite, removeSite, renameSite, siteOf, sitesOf } from "../storage/data.ts";

/** The site that is worked in, and one's other sites: `X-Site` names the one a request is about. */
export function siteRoutes({ data }: Parts): Endpoint[] {
  return [
    endpoint(
      { method: "get", path: "/api/site", right: "see", says: "The site you work in", answer: Site },
      ({ caller }) => siteOf(data, caller),
    ),
    endpoint(
      { method: "patch", path: "/api/site", right: "own", says: "Rename the site", body: NewSiteName, answer: Site },
      ({ caller, body }) => renameSite(data, caller, body.name),
    ),
    endpoint(
      { method: "get", path: "/api/sites", right: "see", says: "All sites you belong to", answer: SiteList },
      async ({ caller }) => ({ items: await sitesOf(data, caller), next: null }),
    ),
    endpoint(
      {
        method: "post",
        path: "/api/sites",
        right: "own",
        says: "Begin another site, as its owner",
        body: NewSiteName,
        answer: Site,
        status: 201,
      },
      ({ caller, body, newId }) => addSite(data, caller, body.name, newId()),
    ),
    endpoint(
      {
        method: "delete",
        path: "/api/sites/:id",
        right: "own",
        says: "Delete the site you work in with all that is in it; its id is asked for so that it is meant",
        params: z.object({ id: z.uuid() }),
        status: 204,
      },
      ({ caller, params }) => removeSite(data, caller, params.id),
    ),
  ];
}
