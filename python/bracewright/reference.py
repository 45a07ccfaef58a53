"""What job files, logs and the tables beside them hold, in words: printed by `--help`, and the same in the README."""

JOB = """\
A job file is JSON. Lengths, masses and loads are numbers in mm, g and N, or texts with a unit: "5/16 in", "2 kg", "4.4 lbf".
Files are named from the folder of the job. What is marked * may be left out.

  schema        "bracewright/job/1"
  name *        what the job is called
  wood          a published species, "Sitka spruce", or {"file": "...", "name": "..."}
  climate *     temperature_c, rh_percent: the air the stick is at rest with
  blank         width, and length and height or stations (a file of x_mm and height_mm); mass *; ring_angle_deg * (0: upright),
                run_out * (slope of the grain: "1/20")
  rig           span, load; name *, dial * ("underside", "crest" or "mid"); bar *
    bar         modulus_gpa, width, readings (a file: bar_height_mm, deflection_mm, load_kg *); poisson * (0.3),
                u_stiffness * (0.01, relative): a metal bar of known modulus, best two of different height
  readings *    a file of the dial on the stick as it stands: load_kg, deflection_mm, seat *, note *
  shape         height or stations (a file); ends * (length, height, blend *); scallops * (a list of at, length, depth, shape *)
    blend       "cosine", "straight", "cubic", "quintic" or "arc"
    shape       "cosine", "arc", "cubic", "quartic" or "quintic"
  section *     family ("rectangle", "tapered sides", "rounded cap", "parabolic cap", "triangular cap" or "cusp cap");
                rise or rise_of_height of a cap, crest_width of tapered sides
  passes        max_depth (of one pass); gouge_radius *, smallest_safe_height *, untouched * ([[150, 250]]),
                side * ("both", "left", "right" or "symmetric"), middle * (that side is about),
                cap * ("planned": the cap is pass 1; "done": it is worked already, the passes begin with the layers;
                needed with one side alone, since a cap runs the whole length)
  goal          low, high: the window of the dial, mm
  vary *        what `fit` changes: "scallop depth", "scallop length", "scallop 1 depth", "floor height", "height", "end height",
                "width", "cap rise"
  overshoot *   allowed chance of going past the window in one pass (0.02)
  log *         the log that `next` reads"""

LOG = """\
A log is a table (CSV) with a line for each thing done, in order. Columns, each with its unit in the heading (deflection_mm,
"deflection (in)", shavings_oz); an empty cell is nothing said:

  step          cap, pass or reading (the dial read again, nothing taken off)
  aimed_mm      depth aimed at in a pass; as advised when empty
  shavings_g    what lay in the pan
  brace_g       the brace on the scale, instead
  deflection_mm the dial afterwards
  note, date    for you

Passes are numbered as the plan prints them, the cap being pass 1 where there is one: so are the files pass_01.csv, ..., the
pictures, and the lines of the log. A reading that proves wrong is taken out of the log: empty its cell, or put #
before the line of a step that is a reading."""
