"""Fabrication: masses of pipes, vessels, tanks and machines, lifting, and what a container takes.

First figures for an offer. Certified masses, the lifting plan and the drawings of the manufacturers replace them.
"""
