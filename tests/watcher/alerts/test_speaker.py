"""The computer's own speaker: what a player is given to play, and what is said when there is none.

No sound card is at hand where the tests run: a small program of the player's name keeps what it is given.
"""

from __future__ import annotations

import io
import wave
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from watcher.alerts.channels import Channel
from watcher.alerts.senders import Senders
from watcher.alerts.speaker import bell
from watcher.records.letters import Letter, Outgoing, SendFailed, Sent, Urgency

AT = datetime(2026, 3, 2, 10, 42, tzinfo=UTC)


@pytest.fixture
def player(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    program = tmp_path / "aplay"
    program.write_text(f"#!/bin/sh\ncat > {tmp_path}/played.wav\n[ ! -e {tmp_path}/broken ] || exit 1\n")
    program.chmod(0o755)
    monkeypatch.setenv("PATH", f"{tmp_path}:/bin:/usr/bin")
    return tmp_path


def sent(urgency: Urgency) -> Sent | SendFailed:
    letter = Letter("bench bell", "beaker: ready", "Tip the beaker.", 0.0, AT, urgency=urgency)
    return Senders([Channel("bench bell", "speaker://")]).deliver(Outgoing(1, letter))


def sound(data: bytes) -> tuple[np.ndarray, int]:
    with wave.open(io.BytesIO(data)) as file:
        return np.frombuffer(file.readframes(file.getnframes()), "<i2"), file.getframerate()


def test_the_bell_rings_through_the_systems_player(player: Path) -> None:
    assert sent(Urgency.CALL) == Sent("bench bell")
    assert (player / "played.wav").read_bytes() == bell(Urgency.CALL)


def test_a_silent_speaker_is_said_and_tried_again(player: Path) -> None:
    (player / "broken").touch()
    outcome = sent(Urgency.CALL)
    assert isinstance(outcome, SendFailed)
    assert not outcome.permanent
    assert "is one connected" in outcome.why


def test_a_computer_without_a_player_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", "/nowhere")
    outcome = sent(Urgency.CALL)
    assert isinstance(outcome, SendFailed)
    assert "alsa-utils" in outcome.why


def test_the_bell_holds_the_note_that_it_is_said_to_and_an_alarm_rings_longer() -> None:
    samples, rate_hz = sound(bell(Urgency.QUIET))
    loudest = np.argmax(np.abs(np.fft.rfft(samples.astype(float))))
    # A5 is 880 Hz in equal temperament at A4 = 440 Hz (ISO 16)
    assert loudest * rate_hz / len(samples) == pytest.approx(880.0, abs=4.0)
    assert np.abs(samples).max() > 0.4 * 32767
    assert len(sound(bell(Urgency.ALARM))[0]) > 2 * len(sound(bell(Urgency.CALL))[0])
