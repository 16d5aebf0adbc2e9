import { z } from "zod";
import {
  DeviceList,
  Id,
  InvitationList,
  MadeDevice,
  MadeInvitation,
  NewDevice,
  NewInvitation,
  PersonList,
} from "../../vision/contract/index.ts";
import { type Endpoint, endpoint } from "../endpoint.ts";
import { linkTo, qrOf } from "../links.ts";
import type { Parts } from "../parts.ts";
import { peopleOf } from "../storage/data.ts";
import { askOf, PageQuery } from "../storage/pages.ts";

const At = z.object({ id: Id });

/** People of the site, invitations for more, and devices that ask in their names. */
export function peopleRoutes({ data, members, address }: Parts): Endpoint[] {
  return [
    endpoint(
      {
        method: "get",
        path: "/api/people",
        says: "Who works in this site, and as what",
        right: "see",
        answer: PersonList,
      },
      async ({ caller }) => ({ items: await peopleOf(data, caller), next: null }),
    ),
    endpoint(
      {
        method: "delete",
        path: "/api/people/:id",
        says: "Let a person out of the site",
        right: "own",
        params: At,
        status: 204,
      },
      ({ caller, params }) => members.letOut(caller, params.id),
    ),
    endpoint(
      {
        method: "post",
        path: "/api/invitations",
        says: "Invite one more person; the link and its QR code are told only now",
        right: "own",
        body: NewInvitation,
        answer: MadeInvitation,
        status: 201,
      },
      async ({ caller, body, req, newId }) => {
        const { token, ...invitation } = await members.invite(caller, body.role, body.days, newId());
        const link = linkTo(req, address, `/join/${token}`);
        return { ...invitation, link, qrSvg: qrOf(link) };
      },
    ),
    endpoint(
      {
        method: "get",
        path: "/api/invitations",
        says: "Invitations, the latest first",
        right: "own",
        query: PageQuery,
        answer: InvitationList,
      },
      ({ caller, query }) => members.invitations(caller, askOf(query)),
    ),
    endpoint(
      {
        method: "delete",
        path: "/api/invitations/:id",
        says: "Withdraw an invitation",
        right: "own",
        params: At,
        status: 204,
      },
      ({ caller, params }) => members.withdrawInvitation(caller, params.id),
    ),
    endpoint(
      {
        method: "post",
        path: "/api/devices",
        says: "Let a phone or program ask in your name; its token is told only now",
        right: "work",
        body: NewDevice,
        answer: MadeDevice,
        status: 201,
      },
      ({ caller, body, newId }) => members.addDevice(caller, body.name, newId()),
    ),
    endpoint(
      {
        method: "get",
        path: "/api/devices",
        says: "Your devices; an owner sees all of the site",
        right: "work",
        query: PageQuery,
        answer: DeviceList,
      },
      ({ caller, query }) => members.devices(caller, askOf(query)),
    ),
    endpoint(
      {
        method: "delete",
        path: "/api/devices/:id",
        says: "Take a device's token back",
        right: "work",
        params: At,
        status: 204,
      },
      ({ caller, params }) => members.withdrawDevice(caller, params.id),
    ),
  ];
}
