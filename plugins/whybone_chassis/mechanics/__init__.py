"""Rigid-body mechanics of a wheel suspension, batched over positions and geometries."""
