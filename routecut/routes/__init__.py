"""From the roadmap to finished curves: search, tightening, bends.

`terminals` ties ports and holes to the roadmap, `harness` is the small graph the
installer's decisions live on, `tighten` makes a path as short as its surface allows,
`bends` gives it the radius the cable needs, `finish` turns the curve into a Route.
"""
