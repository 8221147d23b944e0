"""Settings of all tests."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("no clock", deadline=None)  # a busy machine is no fault of the code
settings.load_profile("no clock")
