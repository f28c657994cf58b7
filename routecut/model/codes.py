"""The list of finding codes: the one place where a code gets its meaning.

Grouped by the stage that reports them. `docs/findings.md` is generated from here.
"""

from __future__ import annotations

from typing import Final

CODES: Final[dict[str, str]] = {
    # --- reading the job -------------------------------------------------------------
    "job-unreadable": "job.toml is missing, can't be read, or is not valid TOML.",
    "unknown-key": "A key or table that the job format does not have.",
    "missing-key": "A key that the job format requires is missing.",
    "wrong-type": "A value of the wrong kind (text where a number is wanted, and so on).",
    "out-of-range": "A number outside the range that is allowed, or not finite.",
    "not-allowed": "A word that is not one of the words allowed here.",
    "duplicate-name": "A name used twice in one table.",
    "unknown-name": "A name that nothing in the job defines.",
    "path-outside": "A path that is absolute or leaves the job folder.",
    "bad-position": "A position that can't be computed from what is given.",
    "tape-residual": "Tape distances that do not agree with each other.",
    # --- the mesh --------------------------------------------------------------------
    "mesh-unreadable": "The mesh file is missing, damaged, empty or of a kind that can't be read.",
    "mesh-size": "The mesh has a size no vehicle has: its unit is probably wrong.",
    "mesh-repaired": "Faces were dropped or merged while the mesh was read.",
    "mesh-part-unmatched": "A glob in the job matches no part of the mesh, or a part no rule.",
    "tape-check": "A tape distance taken on the vehicle disagrees with the mesh.",
    "point-snapped": "A point was moved onto the nearest surface.",
    "point-off-surface": "A point lies further from any surface than a cable can reach.",
    "pass-through-seated": "A pass-through was moved onto the sheet it passes.",
    "pass-through-unseated": "No sheet was found where a pass-through is said to be.",
    "ports-together": "The two ends of a cable lie in the same place.",
    "wrong-space": "A point does not lie in the space it is said to be in.",
    # --- routing ---------------------------------------------------------------------
    "no-route": "A cable can't be routed; the message says which space can't be left.",
    "bend-not-kept": "A bend tighter than the cable allows can't be avoided.",
    "span-not-kept": "A cable hangs free for longer than allowed, and no other way was found.",
    "type-assumed": "A cable without a type was routed as the thickest of its class.",
    "cable-thick": "A cable thicker than the stand-off: its own radius is used instead.",
    "untagged-gap": "A route uses an opening that nobody has confirmed.",
    "beside-foreign": "A route runs alongside a noise source or a foreign class.",
    "over-length": "A cable is longer than its type allows.",
    # --- holes -----------------------------------------------------------------------
    "hole-refused": "A candidate that must not be drilled: what lies behind it or near it says no.",
    "hole-blind": "A hole to drill behind which nothing is seen: nobody knows what is there.",
    "hole-unplaced": "A hole to drill that too few landmarks are in sight of to find it with a tape.",
    # --- verification ----------------------------------------------------------------
    "verify-crossing": "A route meets a sheet away from its pass-throughs.",
    "verify-clearance": "A route comes closer to a keep-out or a sheet than is allowed.",
    "verify-span": "A route hangs free for longer than the bridge length.",
    "verify-bend": "A route is bent tighter than the cable allows.",
    "verify-space": "A route visits a space it has not entered through a pass-through.",
    "verify-fill": "A pass-through holds more cable than it may.",
    "verify-ends": "A route does not begin or end at its ports.",
    "verify-length": "The length stated for a route is not the length of its curve.",
    # --- lengths and leads -----------------------------------------------------------
    "no-stock-lead": "No ready-made lead in stock is long enough.",
    "joint-sealed": "A joint of a ready-made lead lies where nobody can reach it.",
    "joint-place": "The cheapest lead was not taken: its joint would lie in a worse place.",
    "lead-surplus": "A ready-made lead is much too long: its surplus has to be parked.",
    "lead-shelf": "More ready-made leads are needed than lie on the shelf, and no price is known.",
    "surplus-coiled": "The job asks for a supply lead to be coiled; it must not be.",
    "no-reel": "A cut is longer than any reel of its type.",
    "measure-first": "The one measurement that would shorten the cuts of this job most.",
    # --- wire, fuse and coax ---------------------------------------------------------
    "size-picked": "A power cable or a coax without a type was given the thinnest that holds.",
    "wire-thin": "A wire may not carry what the fuse for its load would let through.",
    "drop-over": "A cable, or the way to a device and back, loses more volts than is allowed.",
    "no-size": "Nothing in the catalogue is thick enough, or no fuse is large enough.",
    "conductor-unknown": "A power cable whose copper is not known: it can't be sized.",
    "load-missing": "A power cable that leads to a load and says nothing of it.",
    "load-sum": "A common lead is said to carry less than what lies behind it.",
    "return-assumed": "The return of a device is not in the job: one beside its supply is assumed.",
    "supply-assumed": "No battery is in the job: another device is taken as the source.",
    "supply-ring": "A supply lead that closes a ring or joins two sources: it is fed from both ends.",
    "second-feed": "A device with a second feed or return: taken as a branch of its own.",
    "fuel-near": "The clearance a job states for fuel is less than the rules ask for.",
    "fuse-small": "The fuse a job asks for is less than the peak of its load.",
    "fuse-distance": "The fuse can't sit as near to the battery as the rules ask for.",
    "fuse-access": "A fuse sits where it takes trim or more to get at it.",
    "coax-loss": "A coax cable loses more than is allowed, or may by the worst of the tables.",
    "coax-unknown": "A coax cable whose attenuation is not known.",
    "coax-range": "A frequency outside the tables of attenuation.",
    "coax-power": "A transmitter gives more than a coax cable is rated for.",
    "coax-heat": "A transmitter gives more than a coax cable without a rating bears by its heat, as worked out.",
    "half-wave": "A coax cable that is to be cut to half waves and can't be.",
    "coax-blind": "A cable so long that a missing antenna reads like a good one.",
    "bond-long": "A bonding strap is longer than a bond should be.",
    "bond-resistance": "A bonding strap has more resistance than a bond may have.",
    "rule-deviation": "A limit set by the job in place of the profile's.",
}
