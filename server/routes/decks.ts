import { z } from "zod";
import { Deck, DeckList, DeckVersionList, Id, NewDeck } from "../../vision/contract/index.ts";
import { type Endpoint, endpoint } from "../endpoint.ts";
import { versionIn, versionTag } from "../if-match.ts";
import type { Parts } from "../parts.ts";
import { askOf, PageQuery } from "../storage/pages.ts";

const At = z.object({ id: Id });

/** Decks, each with all versions of its file. */
export function deckRoutes({ data, reader }: Parts): Endpoint[] {
  return [
    endpoint(
      {
        method: "post",
        path: "/api/decks",
        right: "work",
        says: "Keep a deck file as a new deck",
        body: NewDeck,
        answer: Deck,
        status: 201,
      },
      async ({ caller, body, res, newId }) => {
        await reader.checkDeck(body.file);
        const deck = await data.decks.add(caller, body, newId());
        res.location(`/api/decks/${deck.id}`).set("ETag", versionTag(deck.version));
        return deck;
      },
    ),
    endpoint(
      {
        method: "get",
        path: "/api/decks",
        right: "see",
        says: "Decks, the newest first",
        query: PageQuery,
        answer: DeckList,
      },
      ({ caller, query }) => data.decks.list(caller, askOf(query)),
    ),
    endpoint(
      {
        method: "get",
        path: "/api/decks/:id",
        right: "see",
        says: "A deck with the newest version of its file; the version is its ETag",
        params: At,
        answer: Deck,
      },
      async ({ caller, params, res }) => {
        const deck = await data.decks.one(caller, params.id);
        res.set("ETag", versionTag(deck.version));
        return deck;
      },
    ),
    endpoint(
      {
        method: "put",
        path: "/api/decks/:id",
        right: "work",
        says: "Write a deck's next version; If-Match names the version it was made from",
        params: At,
        body: NewDeck,
        answer: Deck,
      },
      async ({ caller, params, body, req, res }) => {
        const from = versionIn(req, "the deck's ETag tells it");
        await reader.checkDeck(body.file);
        const deck = await data.decks.change(caller, params.id, body, from);
        res.set("ETag", versionTag(deck.version));
        return deck;
      },
    ),
    endpoint(
      {
        method: "get",
        path: "/api/decks/:id/versions",
        right: "see",
        says: "All versions of a deck's file, the newest first",
        params: At,
        query: PageQuery,
        answer: DeckVersionList,
      },
      ({ caller, params, query }) => data.decks.versions(caller, params.id, askOf(query)),
    ),
  ];
}
