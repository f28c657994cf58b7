"""Where to drill, before the body is touched.

`behind` looks through the panel, `size` says how large a hole has to be, `tapes` how to find
it with a tape, `find` looks for places, `ways` and `choice` weigh them for all cables
together, `cards` puts what is known of one hole on a card, `study` all of it.

Units      m
"""
