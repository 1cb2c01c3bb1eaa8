"""The computer's own speaker: it calls when internet and phones are off.

A channel whose address is `speaker://` rings here. The sound is made from sines, so that nothing has to be
shipped; it is played by whatever player the system has.
"""

from __future__ import annotations

import io
import math
import shutil
import struct
import subprocess
import wave

from watcher.records.letters import SendFailed, Sent, Urgency

_RATE_HZ = 22_050
_LOUD = 0.6
_PLAYERS = (("aplay", "-q", "-"), ("paplay", "/dev/stdin"), ("pw-play", "-"))
_BELLS = {
    # notes in Hz and how often they come; high notes carry over a running pump (common practice, no source)
    Urgency.QUIET: ((880.0,), 1),
    Urgency.CALL: ((880.0, 1174.7), 3),
    Urgency.ALARM: ((1174.7, 880.0, 1174.7), 5),
}
_NOTE_S = 0.35
_REST_S = 0.25


def ring(channel: str, urgency: Urgency, timeout_s: float) -> Sent | SendFailed:
    """Ring the bell for a letter; return once it has rung, or cannot."""
    player = _player()
    if player is None:
        return SendFailed(
            channel, True, f"{channel}: no player of sounds is installed (apt install alsa-utils)"
        )
    try:
        done = subprocess.run(
            player, input=bell(urgency), capture_output=True, timeout=timeout_s + 8.0, check=False
        )
    except subprocess.TimeoutExpired:
        return SendFailed(
            channel, False, f"{channel}: the speaker did not finish; is another program using it?", True
        )
    except OSError as fault:
        return SendFailed(channel, False, f"{channel}: {player[0]} does not start: {fault.strerror}")
    if done.returncode == 0:
        return Sent(channel)
    said = " ".join(done.stderr.decode(errors="replace").split())[:120]
    return SendFailed(
        channel, False, f"{channel}: the speaker is silent ({said or player[0]}): is one connected?"
    )


def bell(urgency: Urgency) -> bytes:
    """Return the sound of an urgency as a WAV file: one channel, 16 bits, 22.05 kHz."""
    notes, times = _BELLS[urgency]
    samples: list[int] = []
    for _ in range(times):
        for note_hz in notes:
            samples += _note(note_hz)
        samples += [0] * int(_REST_S * _RATE_HZ)
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(_RATE_HZ)
        file.writeframes(struct.pack(f"<{len(samples)}h", *samples))
    return out.getvalue()


def _note(note_hz: float) -> list[int]:
    """Return one stroke of a bell: at once loud, dying away, without a click at either end."""
    count = int(_NOTE_S * _RATE_HZ)
    rise = int(0.005 * _RATE_HZ)
    return [
        int(
            32767
            * _LOUD
            * min(1.0, k / rise)
            * (1.0 - k / count)
            * math.sin(2.0 * math.pi * note_hz * k / _RATE_HZ)
        )
        for k in range(count)
    ]


def _player() -> tuple[str, ...] | None:
    for name, *arguments in _PLAYERS:
        found = shutil.which(name)
        if found:
            return (found, *arguments)
    return None
