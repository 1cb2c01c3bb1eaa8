"""Ways to reach somebody: listed with their secrets masked, added, and tried with a test call."""

from __future__ import annotations

import os
import tomllib
from pathlib import Path
from threading import Lock

from watcher.alerts.channels import Channel, channels_of
from watcher.alerts.senders import Senders, UnusableChannel
from watcher.clock import Clock
from watcher.page.setup.port import Unfit
from watcher.page.setup.shown import ChannelShown, Told, TriedShown
from watcher.records.letters import Letter, Outgoing, Sent, Urgency
from watcher.service.setting_up_watched import Watched
from watcher.setup.folder import SetupFolder
from watcher.setup.toml_text import toml_text

REST_S = 10.0
"""Test calls come no faster than this: a finger that taps twice must not ring for minutes. [s]"""


class SetupCalls:
    """The ways to reach somebody.

    Parameters
    ----------
    folder : SetupFolder
    clock : Clock
    watched : Watched or None
        Where a bench is watched its settings' channels count, else those of `setup/channels.toml`.
    """

    def __init__(self, folder: SetupFolder, clock: Clock, watched: Watched | None) -> None:
        self._path = folder.own / "channels.toml"
        self._clock = clock
        self._watched = watched
        self._lock = Lock()
        self._tested_s: float | None = None

    def pending(self) -> tuple[tuple[str, str], ...]:
        """Return name and address of what was added before there were settings."""
        try:
            held = tomllib.loads(self._path.read_text(encoding="utf-8"))
            return tuple((str(one["name"]), str(one["address"])) for one in held.get("channel", []))
        except (OSError, ValueError, RecursionError, KeyError, TypeError):
            return ()

    def channels(self) -> tuple[ChannelShown, ...]:
        """Return every channel, its address masked."""
        return tuple(ChannelShown(one.name, one.masked) for one in self._channels())

    def add(self, name: str, address: str) -> Told:
        """Add a channel; a bench that is watched takes it up at once."""
        channel = Channel(name, address.strip())
        with self._lock:
            if any(one.name == name for one in self._channels()):
                raise Unfit(f"there is a way called '{name}' already; give this one its own name", "name")
            try:
                Senders([channel])
            except UnusableChannel as fault:
                raise Unfit(str(fault), "address") from None
            entry = toml_text([("[[channel]]", {"name": name, "address": channel.url})])
            if self._watched is None:
                _append(self._path, entry)
            else:
                _append(self._watched.settings_path, entry)
        if self._watched is not None:
            self._watched.again()
        return Told((f"{name} ({channel.masked}) is added",))

    def test(self) -> tuple[TriedShown, ...]:
        """Send a test call by each channel and say what became of it."""
        with self._lock:
            now_s = self._clock.now_s()
            if self._tested_s is not None and now_s - self._tested_s < REST_S:
                raise Unfit(f"a test call went out just now; wait {REST_S:.0f} s")
            channels = self._channels()
            if not channels:
                raise Unfit("there is no way but the page yet; add one")
            self._tested_s = now_s
        try:
            senders = Senders(channels)
        except UnusableChannel as fault:
            raise Unfit(str(fault)) from None
        return tuple(self._tried(senders, one) for one in channels)

    def _tried(self, senders: Senders, channel: Channel) -> TriedShown:
        text = "This is a test call: if you read or hear it, calls from the bench reach you."
        letter = Letter(
            channel.name, "Tipbell: test call", text, self._clock.now_s(), self._clock.now_at(),
            urgency=Urgency.CALL,
        )  # fmt: skip
        outcome = senders.deliver(Outgoing(0, letter))
        if isinstance(outcome, Sent):
            return TriedShown(channel.name, True, "taken; see whether it arrived")
        return TriedShown(channel.name, False, outcome.why)

    def _channels(self) -> tuple[Channel, ...]:
        if self._watched is None:
            return tuple(Channel(name, address) for name, address in self.pending())
        return tuple(channels_of(self._watched.settings))


def _append(path: Path, entry: str) -> None:
    """Add a table at a file's end, whole or not at all; an address may hold a password."""
    path.parent.mkdir(parents=True, exist_ok=True)
    before = path.read_text(encoding="utf-8") if path.exists() else ""
    draft = path.with_name(f".{path.name}.part")
    mode = path.stat().st_mode & 0o777 if path.exists() else 0o600
    with os.fdopen(
        os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, mode), "w", encoding="utf-8"
    ) as file:
        file.write(f"{before.rstrip()}\n\n{entry}" if before else entry)
        file.flush()
        os.fsync(file.fileno())
    draft.replace(path)
