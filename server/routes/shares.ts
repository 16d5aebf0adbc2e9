import { z } from "zod";
import { ContentId, Id, MadeShare, NewShare, Reading, ShareList } from "../../vision/contract/index.ts";
import { type Endpoint, endpoint } from "../endpoint.ts";
import { tellCase } from "../jobs/report.ts";
import { pagePolicy } from "../jobs/report-page.ts";
import { linkTo, qrOf } from "../links.ts";
import type { Parts } from "../parts.ts";
import { RequestError } from "../problems.ts";
import { sendPicture } from "../send-picture.ts";
import { LanguageQuery, languageAsked, speechIn } from "../speech.ts";
import { askOf, PageQuery } from "../storage/pages.ts";

const Token = z.object({ token: z.string() });

/** One reading shown to whoever has a link; nothing else of the site is. */
export function shareRoutes({ data, address }: Parts): Endpoint[] {
  const shown = async (token: string) => {
    const { site, reading: id } = await data.shares.shown(token);
    const caller = { site, person: "" };
    const reading = await data.readings.reading(caller, id);
    if (!reading) throw new RequestError("not-found", "This link shows nothing any more.");
    return { caller, id, reading };
  };
  return [
    endpoint(
      {
        method: "post",
        path: "/api/readings/:id/shares",
        says: "Make a link that shows this one reading to people outside; it is told only now",
        right: "share",
        params: z.object({ id: ContentId }),
        body: NewShare,
        answer: MadeShare,
        status: 201,
      },
      async ({ caller, params, body, req, newId }) => {
        const { token, ...share } = await data.shares.add(caller, params.id, body.days, newId());
        const link = linkTo(req, address, `/share/${token}`);
        return { ...share, link, qrSvg: qrOf(link) };
      },
    ),
    endpoint(
      {
        method: "get",
        path: "/api/shares",
        says: "Links that were made, the latest first",
        right: "share",
        query: PageQuery,
        answer: ShareList,
      },
      ({ caller, query }) => data.shares.list(caller, askOf(query)),
    ),
    endpoint(
      {
        method: "delete",
        path: "/api/shares/:id",
        says: "Withdraw a link: from now on it shows nothing",
        right: "share",
        params: z.object({ id: Id }),
        status: 204,
      },
      ({ caller, params }) => data.shares.withdraw(caller, params.id),
    ),
    endpoint(
      {
        method: "get",
        path: "/share/:token",
        says: "The case that a link shows, as a page in the language named or asked for by Accept-Language",
        right: "anyone",
        params: Token,
        query: LanguageQuery,
        answerType: "text/html",
      },
      async ({ params, query, req, res }) => {
        const { reading } = await shown(params.token);
        const language = query.language ?? languageAsked(req.get("Accept-Language"));
        const picture = `/share/${params.token}/overlay.jpg?language=${language}`;
        res.set("Content-Security-Policy", pagePolicy("'self'")).vary("Accept-Language");
        res.type("text/html").send(tellCase(speechIn(language), reading, picture));
      },
    ),
    endpoint(
      {
        method: "get",
        path: "/share/:token/reading.json",
        says: "The reading that a link shows",
        right: "anyone",
        params: Token,
        answer: Reading,
      },
      async ({ params }) => (await shown(params.token)).reading,
    ),
    endpoint(
      {
        method: "get",
        path: "/share/:token/overlay.jpg",
        says: "The picture that a link shows",
        right: "anyone",
        params: Token,
        query: LanguageQuery,
        answerType: "image/jpeg",
      },
      async ({ params, query, req, res }) => {
        const { caller, id } = await shown(params.token);
        res.set("Cross-Origin-Resource-Policy", "cross-origin"); // the page that shows it is sandboxed, so of no origin
        await sendPicture(req, res, data, caller, id, query.language ?? "en", "no-store");
      },
    ),
  ];
}
