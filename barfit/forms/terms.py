"""What the keys of a scenario file are called on screen, and what each one means.

A term of the trade is explained where it can be changed: the tip says from where to where the
tape goes. ``"fork.length"`` goes before ``"length"`` in the form named "fork".
"""

from __future__ import annotations

_TERMS = {
    "name": ("Name", "What it is called in lists and sentences."),
    "note": ("Note", "Free text."),
    "measured": (
        "Measured with",
        "Tape, eyeballed, not measured yet, or type a standard deviation: it decides how sure the "
        "answer is.",
    ),
    # machine
    "rake": ("Rake", "Angle of the steering axis from plumb."),
    "lock_left": ("Left lock", "How far the steering turns to the left, from straight ahead."),
    "lock_right": ("Right lock", "How far the steering turns to the right, from straight ahead."),
    "stand_lean": ("Side stand's lean", "How far the machine leans to the left when parked."),
    "fuelling": (
        "Fuel by",
        "Carburettor or injection: it decides how long taking the tank off takes.",
    ),
    "fork.offset": ("Fork offset", "Fork tubes forward of the steering axis, square to it."),
    "fork.length": (
        "Fork length",
        "Along the steering axis, from the top clamp's upper face down to the axle.",
    ),
    "fork.spread": ("Fork spread", "Between the centres of the two fork tubes."),
    "fork.tube_diameter": ("Fork tube", "Outside diameter of the tubes in the clamps."),
    "fork.lower_clamp": (
        "Lower clamp",
        "Down along the axis, from the top clamp's upper face to the lower clamp's middle.",
    ),
    "fork.travel": ("Travel", "The whole suspension travel of the fork."),
    "fork.sag": ("Sag", "How much of the travel is used at ride height, rider aboard."),
    "head_tube.top": ("Head tube top", "Down from the top clamp's upper face, along the axis."),
    "head_tube.bottom": (
        "Head tube bottom",
        "Down from the top clamp's upper face, along the axis.",
    ),
    "head_tube.diameter": ("Head tube", "Outside diameter."),
    "wheel.radius": ("Tyre radius", "From the axle to the outside of the front tyre."),
    "wheel.width": ("Tyre width", "Of the front tyre at its widest."),
    "disc.radius": ("Disc radius", "Of the brake disc, from its middle to its edge."),
    "disc.offset": ("Disc, off the middle", "From the wheel's middle plane to the disc's."),
    "disc.thickness": ("Disc thickness", "Of the disc where the pads grip it."),
    "risers.foot": (
        "Riser foot",
        "Where the risers stand on the top clamp: forward of the steering axis, square to it.",
    ),
    "risers.spacing": ("Riser spacing", "Between the middles of the two risers."),
    # bars
    "width": ("Width", "From bar end to bar end."),
    "rise": (
        "Rise",
        "From the clamp's centre up to the inner end of the hand straight, along the steering axis "
        "where the bar is not rolled: plumb it is less.",
    ),
    "pullback": ("Pullback", "From the clamp's centre back to the bar end."),
    "centre_width": ("Centre width", "Between the two lower corners of the bar."),
    "tube_diameter": ("Tube", "Outside diameter of the tube where it is clamped."),
    "grip_diameter": ("Grip zone", "Outside diameter of the tube under grips and controls."),
    "bend_radius": ("Bend radius", "Of the tube's centreline in its bends."),
    "hand_straight": ("Hand straight", "The straight outer part that carries grip and controls."),
    "grip_length": ("Grip length", "Of the rubber grip, from the bar end inward."),
    "sweep": ("Sweep", "How far the hand straight points back."),
    "downsweep": ("Downsweep", "How far the hand straight points down."),
    "roll": (
        "Roll",
        "Of the bar in its clamps; positive turns the grips back and down. At 0 the rise runs "
        "along the steering axis, square to the top clamp.",
    ),
    "wall": ("Wall", "Of the tube; wires inside have the rest of it."),
    "hole.side": ("Side", "Which half of the bar it is in: the rider's left or right."),
    "hole.from_end": ("From the bar end", "Along the bar to the hole's middle."),
    "hole.from_centre": ("From the bar's centre", "Along the bar to the hole's middle."),
    "hole.facing": ("Faces", "About the bar: 0° forward, 90° up, -90° down, 180° back."),
    "hole.diameter": ("Width", "Of the hole, across the bar."),
    "hole.length": ("Length", "Of an oval hole, along the bar."),
    "hole.slant": ("Slant", "Between the bar and wires that go through the hole."),
    "clamp_zone": (
        "Clamp zone",
        "The whole width in the middle that may be clamped: knurled and straight.",
    ),
    "shoulder.half_width": ("Corner, outward", "Of the extra corner, from the middle outward."),
    "shoulder.height": ("Corner, up", "Of the extra corner, above the clamp's centre."),
    "shoulder.forward": ("Corner, forward", "Of the extra corner; negative is to the rear."),
    "clip_ons.height": (
        "Clamp height",
        "Of the clamps above the top clamp's upper face, along the axis; negative: below it.",
    ),
    "clip_ons.forward": ("Forward", "From the fork tube's centre to the bar's inner end."),
    "clip_ons.outward": ("Outward", "From the fork tube's centre to the bar's inner end."),
    "clip_ons.length": ("Length", "From the bar's inner end to the bar end."),
    "riser.height": ("Riser height", "Up along the axis, from the top clamp to the bar's centre."),
    "riser.setback": ("Riser setback", "How far the riser carries the bar to the rear."),
    "riser.bore": ("Riser bore", "The diameter of bar that it clamps."),
    "riser.clamp_width": ("Riser clamp", "How much of the bar one of the two clamps covers."),
    # controls
    "control.kind": ("Kind", "What it is; it decides how it is drawn."),
    "side": ("Side", "The rider's left or right."),
    "inboard": ("Inboard", "From the bar end along the bar to the middle of its clamp."),
    "rotation": ("Rotation", "About the bar, from a level lever; positive lifts the front edge."),
    "outlet.offset": (
        "At",
        "Outward along the grip, forward, up: from the bar's centreline at the control.",
    ),
    "outlet.exit": (
        "Points",
        "Outward, forward, up: the way the line leaves. Only the direction counts.",
    ),
    "control_size.width": ("Width", "Of its clamp or housing, along the bar."),
    "control_size.radius": ("Housing's radius", "About the bar's centreline."),
    "lever_tip": (
        "Lever tip",
        "Outward along the grip, forward, up: the middle of the lever's ball, let go.",
    ),
    "reservoir": ("Reservoir at", "Outward, forward, up: the middle of it."),
    "reservoir_size": ("Reservoir's size", "Outward, forward, up: full lengths."),
    "lid_up": ("Lid faces", "Outward, forward, up: square to the lid. Only the direction counts."),
    "mirror": ("Mirror at", "Outward, forward, up: the middle of a mirror's head on this control."),
    "mirror_radius": ("Mirror's radius", "Of a ball round the mirror's head."),
    "stub": ("Rigid end", "Straight, rigid metal at the end (ferrule, elbow, crimp)."),
    # lines
    "line.kind": ("Kind", "What the line is: it brings its usual stiffness, radius and slack."),
    "routing": ("Way it goes", "What this way to go is called among others."),
    "line.length": (
        "Installed length",
        "Fitting to fitting, rigid ends counted in; of a cable, its outer.",
    ),
    "diameter": ("Outside diameter", "Of conduit, hose or sleeve."),
    "min_radius": ("Smallest radius", "The smallest its centreline may take in a bend."),
    "bending_stiffness": ("Bending stiffness", "In N·mm²; a clamped piece's droop tells it."),
    "twisting_stiffness": ("Twisting stiffness", "In N·mm²."),
    "swivels": ("Turns in its fittings", "Whether the end fittings let it turn about itself."),
    "weight": ("Weight", "Of a metre, hoses filled."),
    "hold": (
        "Holds it as",
        "A clip or tight tie grips the line; a guide, ring, grommet or loose tie lets it slide.",
    ),
    "along": ("Measured from", "Along the bar; the place stays where it is."),
    "leaves": ("Leaves", "The control at whose outlet the line starts or ends, and which outlet."),
    "on": ("Rides on", "What moves with the place: frame, steering, lower fork, or the bar."),
    "control": ("Control", "The control at whose outlet the line starts."),
    "outlet": ("Outlet", "Which of the control's outlets."),
    "position": (
        "Position",
        "Forward, left, up from where the steering axis leaves the top clamp.",
    ),
    "from_end": ("From the bar end", "Along the bar's centreline."),
    "from_centre": ("From the bar's centre", "Along the bar's centreline."),
    "forward": ("Forward", "Off the bar's centreline."),
    "up": ("Up", "Off the bar's centreline."),
    "exit": ("Points", "Forward, left, up: the way the line leaves this fitting."),
    "direction": ("Runs", "Forward, left, up: the way the line runs through the clip."),
    "at_length": ("Grips at", "How far along the line from its first fitting the clip grips it."),
    "found_slack.right": ("Slack found, right lock", "With the stock bars, line pulled by hand."),
    "found_slack.straight": ("Slack found, ahead", "With the stock bars, line pulled by hand."),
    "found_slack.left": ("Slack found, left lock", "With the stock bars, line pulled by hand."),
    "found_slack.length": (
        "Found at a length of",
        "How long the line was then, where it has been replaced by another since.",
    ),
    "through_bar.entry": ("In at", "The hole of the bar where the wires go in."),
    "through_bar.exit": ("Out at", "The hole where they come out; from there on they hang."),
    "through_bar.lead_in": ("Lead-in", "Of wire, from the control to the hole where it goes in."),
    # inside a control cable
    "cable.wire": ("Wire", "Its diameter."),
    "cable.bore": ("Bore", "Inside diameter of the conduit, lining counted in."),
    "cable.lining": ("Lining", "What the wire slides on: it decides the friction."),
    "cable.free_play": (
        "Free play",
        "At lever or grip, as set straight ahead, in mm that the wire moves.",
    ),
    "cable.pull": (
        "Pull on the wire",
        "In N at lever or grip, worked fully, with the stock bars.",
    ),
    # inside a hydraulic hose
    "hose.circuit": ("Circuit", "The same word for all hoses between one lever and its caliper."),
    "hose.bore": ("Bore", "Inside diameter."),
    "hose.construction": ("Construction", "How it is built: it decides how much it swells."),
    "hose.fluid": ("Fluid", "As it stands on the reservoir's cap. Never mix kinds."),
    "hose.clocking": (
        "Clocking",
        "How far the last banjo eye is turned against the first, clockwise seen from the first.",
    ),
    "hose_end.part": ("Bolted to", "Hoses whose ends name one part are joined through it."),
    "hose_end.banjo": ("Banjo", "No: a union or flare nut, which takes no sealing washers."),
    "hose_end.eye_angle": ("Eye's angle", "How far the hose leaves out of the plane of the eye."),
    "hose_end.bolt": ("Bolt points", "From the part to the bolt's head, as the exit is given."),
    "hose_end.double": ("Shares its bolt", "Another hose's eye is on the same bolt."),
    "hose_end.bleeder": ("Bleed screw", "Whether there is one at this part."),
    "master.bore": ("Bore", "Diameter of its piston; it stands on many castings."),
    "master.lever_ratio": ("Lever ratio", "Travel of the fingers over that of the piston."),
    "master.piston_area": (
        "Area at the far end, mm²",
        "Of all pistons that press from one side at caliper or slave cylinder.",
    ),
    "master.reservoir": ("Reservoir holds, cm³", "Between the marks."),
    # wires
    "screened": ("Screened", "A screen is to be carried on through every joint."),
    "sleeve": ("Sleeve", "Inside diameter of the sleeve the wires are in."),
    "supply": ("Supply, V", "Voltage of the machine."),
    "circuit.name": ("Name", "What the wires do, as turn signals or starter button."),
    "gauge": ("Gauge", "Cross-section of the copper, or its AWG number."),
    "current": ("Current, A", "What flows when it is on."),
    "use": ("Use", "It decides how much voltage may be lost."),
    "count": ("Wires", "How many equal wires it has."),
    "plug.length": ("Length", "Of the plug, along the line."),
    "plug.width": ("Width", "Across the line; a round plug has a diameter instead."),
    "plug.height": ("Height", "Across the line; a round plug has a diameter instead."),
    "plug.diameter": ("Diameter", "Of a round plug; others have width and height."),
    "poles": ("Poles", "How many contacts it has."),
    "plug.hole": ("Passes a hole of", "The hole it has to go through when the line is fitted."),
    # solids
    "role": ("Part", "What it stands for; it decides how it is drawn and what touching it means."),
    "start": ("From", "Forward, left, up: centre of one round end."),
    "end": ("To", "Forward, left, up: centre of the other round end."),
    "radius": ("Radius", "Of the round bar."),
    "centre": ("Centre", "Forward, left, up."),
    "semi_axes": ("Half lengths", "Forward, left, up."),
    "size": ("Size", "Forward, left, up: full lengths."),
    "pitch": ("Pitch", "Turned nose up."),
    "rounding": ("Rounding", "Radius of the edges."),
    "file": ("Mesh file", "Closed surface, by its file."),
    "unit": ("Unit in the file", "What one unit of length in the file stands for."),
    "yaw": ("Yaw", "Turned to the left."),
    # rider and place
    "build": ("Build", "Out of a table of body sizes. P95: 95 % of that group are smaller."),
    "seat": ("Hips at", "Forward, left, up: the point of the loaded seat under the hips."),
    "shoulder_height": ("Shoulder height", "From the seat up, sitting erect."),
    "reach": ("Reach", "From the shoulder joint to the middle of the grip, arm straight."),
    "shoulder_width": ("Shoulder width", "Between the shoulder joints."),
    "slump": ("Slump", "What sitting at ease takes off the shoulder height."),
    "over_seat": ("Over the seat, at most", "Highest part of the grips above the loaded seat."),
    "over_fastening": (
        "Over the fastening, at most",
        "Highest part of the grips above the middle of the clamps that hold the bar.",
    ),
    "over_shoulders": (
        "Over the shoulders, at most",
        "Highest part of the grips above the rider's shoulders; 0 is not above them.",
    ),
    "place_limits.width": ("Width, at most", "Overall, from bar end to bar end."),
    "least_width": ("Width, at least", "Overall, from bar end to bar end."),
    # a seller's set
    "set.name": ("Name", "What the set is called here."),
    "set.price": ("Price", "Of the whole set: one number, or 260 to 290."),
    "set.note": ("Note", "Free text."),
    "set.kind": ("Kind", "What kind of line it is."),
    "set.line": ("For", "Which line it is meant for, where the seller says."),
    "set.length": ("Length", "As sold; or say how much longer it is."),
    "set.longer": ("Longer than stock", "How much longer than the stock line; or give its length."),
    "set.quantity": ("How many", "Of this kind in the set."),
    # the job
    "job.currency": (
        "Currency",
        "Its three letters, like USD or EUR. Nothing is converted by itself.",
    ),
    "job.table_rate": (
        "Exchange rate",
        "What one unit of the price table's currency costs in yours; without it nothing is "
        "converted.",
    ),
    "job.shop_rate": ("Shop rate", "What a workshop takes for an hour: one number, or 90 to 140."),
    "job.start": ("From", "The first day on which there is time: year, month, day, as 2027-03-14."),
    "job.days": ("Days", "The days of the week on which there is time, as Saturday, Sunday."),
    "job.hours": ("Hours a day", "How many hours of work such a day has."),
    "job.shop_days": ("Days", "The days of the week on which the workshop works."),
    "job.shop_hours": ("Hours a day", "How many hours of a day the workshop gives to one job."),
    "job.closed": (
        "Closed",
        "Days on which nothing is done, as holidays: 2027-12-24, 2027-12-27 to 2028-01-02.",
    ),
    # how sure
    "uncertainty.tape": ("Tape", "Standard deviation of what was measured with a tape."),
    "uncertainty.eyeballed": ("Eyeballed", "Standard deviation of what was estimated by eye."),
    "uncertainty.length": ("Lengths", "Standard deviation of installed lengths and clip places."),
    "uncertainty.angle": ("Angles", "Standard deviation of angles, exits and locks."),
    "uncertainty.stiffness": ("Stiffness", "Share by which a bending stiffness may be off."),
    "uncertainty.found_slack": ("Slack found", "Standard deviation of slack found by hand."),
    "uncertainty.unmeasured": (
        "Not measured",
        "Standard deviation of lengths and places that are not measured yet.",
    ),
    "uncertainty.unmeasured_angle": (
        "Angles, not measured",
        "Standard deviation of the angles of what is not measured yet.",
    ),
}


def term(key: str, form: str = "") -> tuple[str, str]:
    """Label and explanation of a key in a form. Raises KeyError for a key without one."""
    return _TERMS.get(f"{form}.{key}") or _TERMS[key]
