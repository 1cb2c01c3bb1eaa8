"""Whatever stands in a description, it is read or refused in one sentence; nothing else escapes."""

from __future__ import annotations

import copy
import tomllib

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from made_recordings import BEAKER, CAMERA, HEAD, JUG, JUG_CARD

from watcher.camera import recording_file
from watcher.camera.recording_fields import RecordingError

WHOLE = tomllib.loads(
    HEAD
    + CAMERA
    + JUG
    + JUG_CARD
    + "trim_line_mm = 28\nholes = [{centre_mm = [0, 0], axes_mm = [60, 50]}]\n"
    + BEAKER
)
odd_values = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.floats(),
    st.text(max_size=8),
    st.lists(st.floats(), max_size=4),
    st.lists(st.lists(st.floats(), max_size=3), max_size=3),
    st.dictionaries(st.text(max_size=3), st.integers()),
    st.lists(st.dictionaries(st.text(max_size=3), st.floats(), max_size=2), max_size=2),
)


def places(value, at=()):
    """Every place in a nest of tables and lists."""
    if at:
        yield at
    inside = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, one in inside:
        yield from places(one, (*at, key))


@settings(max_examples=400, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(at=st.sampled_from(list(places(WHOLE))), odd=odd_values)
def test_an_odd_value_anywhere_is_read_or_refused_in_one_sentence(at, odd, tmp_path_factory):
    table = copy.deepcopy(WHOLE)
    holder = table
    for key in at[:-1]:
        holder = holder[key]
    if odd is None:
        del holder[at[-1]]
    else:
        holder[at[-1]] = odd
    original = recording_file._toml
    recording_file._toml = lambda path: table
    try:
        recording_file.read_recording_file(tmp_path_factory.getbasetemp() / "recording.toml", pictures=True)
    except RecordingError as fault:
        assert str(fault).startswith("recording.toml") and "\n" not in str(fault)
    finally:
        recording_file._toml = original
