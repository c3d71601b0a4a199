"""Fabrication: masses, lifting and containers, and how parts are tested, packed and spared once a plant is sized.

First figures for an offer. Certified masses, the lifting plan, codes and the drawings of the manufacturers govern.
"""
