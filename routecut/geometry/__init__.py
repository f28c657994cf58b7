"""Geometry the search works with: sheets (rays, nearest points) and keep-out shapes.

Stage      below survey; used by roadmap and routes, never by the verifier
Units      m throughout
"""
