"""Rigid-body mechanics of a wheel suspension, batched over positions and geometries.

Rows are independent: a row gives the same bits alone and in any batch.
"""
