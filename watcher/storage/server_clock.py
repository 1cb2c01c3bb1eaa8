"""The present as the shared database's own clock has it: benches' clocks may differ, leases must not."""

from __future__ import annotations

from sqlalchemy import BigInteger, literal_column

NOW_US = literal_column("(extract(epoch FROM clock_timestamp()) * 1000000)::bigint", BigInteger)
"""Microseconds since 1970, as the tables keep moments."""
