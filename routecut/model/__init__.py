"""What the stages hand to each other: frozen dataclasses, no behaviour worth naming.

`job` is what the installer knows, `body` the mesh as read, `plan` what the tool found,
`finding` what was noticed on the way. All lengths are metres (``_m``), all positions in
ISO 4130 axes: X rearward, Y to the right, Z up.
"""
