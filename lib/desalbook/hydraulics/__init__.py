"""Pipes, pumps, motors, energy recovery, and the energy of separation."""
