"""Joining, leaving, letting in and taking out."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Annotated

from fastapi import APIRouter, Depends, Request, Response
from pydantic import BaseModel, ConfigDict, Field, StringConstraints

from watcher.page.access.access import Access
from watcher.page.access.cookie import give_key
from watcher.page.access.door import LEAVING, Asker, asker_of
from watcher.page.access.drawing import draw
from watcher.page.access.guestbook import MOST_NAME, TooManyGuests, plain_name
from watcher.page.access.invitations import GOOD_FOR_S
from watcher.page.access.links import join_addresses, qr_svg
from watcher.page.moments import iso
from watcher.page.refusals import GET_REFUSALS, REFUSALS, PageRefusal
from watcher.page.shapes import ErrorShape
from watcher.records.guests import Guest, Rights

Name = Annotated[str, StringConstraints(max_length=200)]
_TOO_SOON = {"model": ErrorShape, "description": "too many wrong tries: wait, as Retry-After says"}
_UNKEPT = {"model": ErrorShape, "description": "it cannot be written down now"}
_POSTS = {**REFUSALS, 409: {"model": ErrorShape, "description": "not as the bench stands"}, 503: _UNKEPT}


class _In(BaseModel):
    model_config = ConfigDict(extra="forbid")


class JoinIn(_In):
    """A code out of a QR code's fragment, and what the device is called."""

    token: Annotated[str, StringConstraints(min_length=1, max_length=100)]
    name: Name = Field("", description=f"cut to {MOST_NAME} letters")


class InviteIn(_In):
    """What the next device may do, and what it is called unless it says otherwise."""

    rights: Rights = Rights.ACT
    name: Name = ""


class TakeOutIn(_In):
    """Who is to go."""

    id: Annotated[str, StringConstraints(max_length=40)]


class LeaveIn(_In):
    """Nothing is asked of one who leaves."""


class MeOut(BaseModel):
    """Who asks, and what they may do. An empty name is the bench's own computer."""

    name: str
    rights: Rights


class PhoneOut(BaseModel):
    """One joined device."""

    id: str
    name: str
    rights: Rights
    joined_at: Annotated[str, Field(description="UTC ISO 8601")]
    seen_at: Annotated[str, Field(description="UTC ISO 8601")]


class PhonesOut(BaseModel):
    """All joined devices; `opened`: others may reach the page at all."""

    opened: bool
    phones: list[PhoneOut]


class LinkOut(BaseModel):
    """One address with its QR code. All links of an invitation carry the same code: one use in all."""

    address: str
    svg: str


class InvitedOut(BaseModel):
    """An invitation, told this once."""

    good_for_s: float
    links: list[LinkOut]


def access_routes(access: Access, zone: str) -> APIRouter:
    """Return the routes of joining and of the list of joined devices."""
    router = APIRouter()

    @router.get("/join", include_in_schema=False)
    def join_page(request: Request) -> Response:
        return draw(request, "join.html")

    @router.post("/join.json", responses={**_POSTS, 429: _TOO_SOON}, summary="Join with a one-time code")
    def join(given: JoinIn, request: Request, response: Response) -> MeOut:
        guest, key = _let_in(access, given, request)
        earlier = asker_of(request)
        if earlier is not None and earlier.guest_id:
            _or_503(lambda: access.book.take_out(earlier.guest_id))
        give_key(response, request.scope, access.cookie, key)
        return MeOut(name=guest.name, rights=guest.rights)

    @router.post(LEAVING, responses=_POSTS, summary="Leave the bench on this device")
    def leave(_: LeaveIn, request: Request, response: Response) -> MeOut:
        asker = _sure(request)
        if asker.guest_id:
            _or_503(lambda: access.book.take_out(asker.guest_id))
        give_key(response, request.scope, access.cookie, "")
        return MeOut(name=asker.name, rights=asker.rights)

    @router.get("/me.json", responses=GET_REFUSALS, summary="Who this device is to the bench")
    def me(request: Request) -> MeOut:
        asker = _sure(request)
        return MeOut(name=asker.name, rights=asker.rights)

    router.include_router(_keeping(access, zone))
    return router


def _keeping(access: Access, zone: str) -> APIRouter:
    router = APIRouter(dependencies=[Depends(_keeper_only)])

    @router.get("/phones", include_in_schema=False)
    def phones_page(request: Request) -> Response:
        return draw(request, "phones.html", zone=zone)

    @router.get("/phones.json", responses=GET_REFUSALS, summary="Joined devices")
    def phones() -> PhonesOut:
        return PhonesOut(opened=access.opened, phones=[_shown(guest) for guest in access.book.all()])

    @router.post("/phones/invite.json", responses=_POSTS, summary="Let one device in: QR codes")
    def invite(given: InviteIn, request: Request) -> InvitedOut:
        addresses = join_addresses(request, access.reach) if access.opened else ()
        if not addresses:
            say = "nothing but this computer can reach the page; set open = true under [page]"
            raise PageRefusal(409, "not_opened", say)
        code = access.invitations.make(given.rights, plain_name(given.name))
        links = [LinkOut(address=f"{one}#{code}", svg=qr_svg(f"{one}#{code}")) for one in addresses]
        return InvitedOut(good_for_s=GOOD_FOR_S, links=links)

    @router.post("/phones/out.json", responses=_POSTS, summary="Take a device out at once")
    def take_out(given: TakeOutIn) -> PhonesOut:
        if not _or_503(lambda: access.book.take_out(given.id)):
            raise PageRefusal(404, "no_such_phone", "no joined device has that id", "id")
        return phones()

    return router


def _keeper_only(request: Request) -> None:
    if _sure(request).rights is not Rights.KEEP:
        raise PageRefusal(
            403, "not_keeper", "only the bench's own computer lets devices in and takes them out"
        )


def _sure(request: Request) -> Asker:
    asker = asker_of(request)
    if asker is None:  # the door lets no stranger come this far; if it is left out, nobody is let in
        raise PageRefusal(401, "not_joined", "this device has not joined the bench")
    return asker


def _let_in(access: Access, given: JoinIn, request: Request) -> tuple[Guest, str]:
    address = request.client.host if request.client else ""
    wait_s = access.brakes.begin(address)
    if wait_s > 0.0:
        whole_s = math.ceil(wait_s)
        say = f"too many wrong tries; wait {whole_s} s and point the camera at the code again"
        raise PageRefusal(429, "too_soon", say, headers={"retry-after": str(whole_s)})
    invited = access.invitations.take(given.token)
    if invited is None:
        say = "this code is used up or too old; make a new one at the bench's computer"
        raise PageRefusal(403, "no_such_code", say, "token")
    access.brakes.right(address)
    try:
        return access.book.join(invited.rights, plain_name(given.name) or invited.name)
    except TooManyGuests:
        raise PageRefusal(409, "too_many", "too many devices have joined; take one out first") from None
    except OSError as fault:
        raise _not_kept(fault) from fault


def _or_503(do: Callable[[], bool]) -> bool:
    try:
        return do()
    except OSError as fault:
        raise _not_kept(fault) from fault


def _not_kept(fault: OSError) -> PageRefusal:
    return PageRefusal(503, "not_kept", f"it could not be written down, do it again later: {fault}")


def _shown(guest: Guest) -> PhoneOut:
    return PhoneOut(
        id=guest.guest_id,
        name=guest.name,
        rights=guest.rights,
        joined_at=iso(guest.joined_at),
        seen_at=iso(guest.seen_at),
    )
