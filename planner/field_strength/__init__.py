"""Field strength, from the transmitter's power to the noise of a receiver.

One module a model: :mod:`~planner.field_strength.r6602` (FCC curves) and
:mod:`~planner.field_strength.free_space` give the field of a transmitter;
:mod:`~planner.field_strength.height` and :mod:`~planner.field_strength.building` bring it to the
antenna; :mod:`~planner.field_strength.noise` turns it into power and compares it with noise.
Every function takes numbers or arrays that broadcast; numbers alone give a number.
"""
