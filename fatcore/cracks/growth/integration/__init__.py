"""Integration of crack growth over the logarithm of the size, with error control.

It earns its place beside `scipy.integrate.solve_ivp` by speed. A surface crack with one stage takes 0.2 of
the time of DOP853 at the same tolerance of 1e-7, where the error of the life is 1e-14 against 7e-9; at an
error of 1e-11 or less it takes 0.08 of that of DOP853, 0.02 of RK45 and 0.01 of Radau: the stress intensity
takes arrays, and a step gives it all of its sizes at once. `python -m tests.benchmarks cracks` measures it
beside DOP853, findings and history included. Jumps of the rate at a threshold are met on the way, which the
general integrators know only as events.
"""
