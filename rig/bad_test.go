package rig

import (
	"bytes"
	"errors"
	"os"
	"regexp"
	"strings"
	"testing"
)

// bad holds one defect each: good.yaml with old replaced by new, the exact message (the position without its file), and
// whether the schema sees the defect too.
var bad = []struct {
	old, new, want string
	seen           bool
}{
	{"legroom: 1", "legroom: 2", "2:10: legroom: the document is of version 2, and this program reads version 1; use a newer program, or write the document anew with `legroom new`", true},
	{"legroom: 1", "legroom: one", "2:10: legroom: \"one\" is not a version of the document; write `legroom: 1`", true},
	{"legroom: 1", "legroom: -1", "2:10: legroom: \"-1\" is not a version of the document; write `legroom: 1`", true},
	{"legroom: 1", "", "3:1: legroom is missing; add `legroom: 1`", true},
	{"name: terrace", "name: \"\"", "3:7: name: the text is empty; write one, or remove the key", true},
	{"name: terrace", "name: [terrace]", "3:7: name: it is a list, but a single value is expected; write a text", true},
	{"margin_mm: 30", "margin_mm: 30 ± 5", "4:12: margin_mm: \"30 ± 5\" has a tolerance, but this is chosen, not measured; write the number alone", true},
	{"margin_mm: 30", "margin_mm: -1", "4:12: margin_mm: -1 mm is not possible here; write a number from 0 to 1000", true},
	{"margin_mm: 30", "margin_mm: 3000", "4:12: margin_mm: 3000 mm is not possible here; write a number from 0 to 1000", true},
	{"  latitude_deg: 36.9", "", "5:1: site: latitude_deg is missing; add `latitude_deg: 12.5`", true},
	{"latitude_deg: 36.9", "latitude_deg: 95", "6:17: site.latitude_deg: 95 is not possible here; write a number from -90 to 90", true},
	{"latitude_deg: 36.9", "latitude_deg: 36,9", "6:17: site.latitude_deg: \"36,9\" has a decimal comma; write 36.9", true},
	{"latitude_deg: 36.9", "latitude_deg: \"36.9\"", "6:17: site.latitude_deg: \"36.9\" is text in quotes; write a plain number such as 12.5", true},
	{"latitude_deg: 36.9", "latitude_deg: 36.9 ± 1", "6:17: site.latitude_deg: \"36.9 ± 1\" has a tolerance, but this is not a measured length or angle; write a plain number such as 12.5", true},
	{"latitude_deg: 36.9", "latitude_deg: .nan", "6:17: site.latitude_deg: .nan is not a number that can be measured; write a plain number such as 12.5", true},
	{"latitude_deg: 36.9", "latitude_deg: 0x24", "6:17: site.latitude_deg: \"0x24\" is not a number; write a plain number such as 12.5", false},
	{"longitude_deg: -3.4", "longitude_deg: 356.6", "7:18: site.longitude_deg: 356.6 is not possible here; write a number from -180 to 180", true},
	{"longitude_deg: -3.4", "longitude_deg: −3.4", "7:18: site.longitude_deg: \"−3.4\" has a typographic minus sign; write -3.4", true},
	{"time_zone: Europe/Madrid", "time_zone: Europe/Madird", "9:14: site.time_zone: there is no time zone \"Europe/Madird\"; write an IANA name such as Europe/Madrid, Africa/Johannesburg or UTC", false},
	{"[90, 12.5]", "[361, 12.5]", "10:21: site.horizon[1]: the azimuth 361 is not on the compass; write 0 to 360, clockwise from true north", true},
	{"[90, 12.5]", "[90, 91]", "10:21: site.horizon[1]: the altitude 91 is not possible; write -90 to 90 degrees above the horizontal", true},
	{"[90, 12.5]", "[90]", "10:21: site.horizon[1]: it is not a pair; write azimuth and altitude in degrees, such as [90, 12.5]", true},
	{"[90, 12.5]", "[90, high]", "10:26: site.horizon[1][1]: \"high\" is not a number; write a plain number such as 12.5", true},
	{"[90, 12.5]", "[0, 6]", "10:12: site.horizon: azimuth 0 has two altitudes, 5 and 6 (360 is 0); keep one of the two", false},
	{"horizon: [[0, 5], [90, 12.5], [180, -3]]", "horizon: nowhere.txt", "10:12: site.horizon: there is no file \"nowhere.txt\"; name a file in the document's own folder or below it", false},
	{"horizon: [[0, 5], [90, 12.5], [180, -3]]", "horizon: ../horizon.txt", "10:12: site.horizon: \"../horizon.txt\" leads out of the document's folder; name a file in the document's own folder or below it, with forward slashes", false},
	{"kind: tripod", "kind: quadpod", "12:9: support.kind: \"quadpod\" is not one of its values; write tripod or pier", true},
	{"kind: tripod", "kind: ", "12:3: support.kind: it has no value; write `kind: tripod or pier`", true},
	{"height_mm: 900 ± 3 # legs", "height_mm: 900 ± -3 # legs", "13:14: support.height_mm: the tolerance -3 is negative; write it as a half-width, 900 ± 3", true},
	{"height_mm: 900 ± 3 # legs", "height_mm: 900 mm # legs", "13:14: support.height_mm: \"900 mm\" carries the unit mm; the unit is in the key: write 900", true},
	{"height_mm: 900 ± 3 # legs", "height_mm: 90 cm # legs", "13:14: support.height_mm: \"90 cm\" carries the unit cm; the unit is in the key: write a number of millimetres such as 460, 460 ± 5 or 460 unmeasured", true},
	{"height_mm: 900 ± 3 # legs", "height_mm: \"900 mm\" # legs", "13:14: support.height_mm: \"900 mm\" carries the unit mm; the unit is in the key: write 900", true},
	{"height_mm: 900 ± 3 # legs", "height_mm: 900 ± 1200 # legs", "13:14: support.height_mm: the tolerance 1200 is larger than the 1000 mm that is allowed; measure again, or write `unmeasured` behind the number", false},
	{"height_mm: 900 ± 3 # legs", "height_mm: 900 ± 950 # legs", "13:14: support.height_mm: the tolerance 950 is as large as the value 900 itself; write the half-width that you trust, such as 900 ± 90", false},
	{"height_mm: 900 ± 3 # legs", "height_mm: -900 # legs", "13:14: support.height_mm: -900 mm is not possible here; write a number above 0", true},
	{"height_mm: 900 ± 3 # legs", "height_mm: 0 # legs", "13:14: support.height_mm: 0 mm is not possible here; write a number above 0", true},
	{"height_mm: 900 ± 3 # legs", "height_mm: .inf # legs", "13:14: support.height_mm: .inf is not a number that can be measured; write a number of millimetres such as 460, 460 ± 5 or 460 unmeasured", true},
	{"height_mm: 900 ± 3 # legs", "height_mm: 1e400 # legs", "13:14: support.height_mm: 1e400 is too large to be read; write a number of millimetres such as 460, 460 ± 5 or 460 unmeasured", false},
	{"height_mm: 900 ± 3 # legs", "height_mm: 900000 # legs", "13:14: support.height_mm: 900000 mm is more than 100 m; lengths are millimetres: check the unit", false},
	{"height_mm: 900 ± 3 # legs", "height_mm: about 900 # legs", "13:14: support.height_mm: \"about 900\" is not a number; write a number of millimetres such as 460, 460 ± 5 or 460 unmeasured", true},
	{"height_mm: 900 ± 3 # legs", "height_mm: 900 measured # legs", "13:14: support.height_mm: \"900 measured\" is not a number; write a number of millimetres such as 460, 460 ± 5 or 460 unmeasured", true},
	{"height_mm: 900 ± 3 # legs", "height: 900 # legs", "13:3: support.height: there is no such key; did you mean height_mm?", true},
	{"  height_mm: 900 ± 3 # legs half out", "  height_mm: 900\n  height_mm: 950", "14:3: height_mm: the key is here for the second time, first in line 13; keep one of the two", true},
	{"height_mm: 900 ± 3 # legs", "height_mm: {value: 900} # legs", "13:14: support.height_mm: it is a mapping of keys, but a number is expected; write a number of millimetres such as 460, 460 ± 5 or 460 unmeasured", true},
	{"  head: {", "  diameter_mm: 60\n  head: {", "14:3: support.diameter_mm: the key has no meaning here; it belongs to kind: pier; remove it", true},
	{"head: {diameter_mm: 200 ± 2, thickness_mm: 25 ± 1}", "head: 200", "14:9: support.head: it is a single value, but a mapping of keys is expected; write keys below it: diameter_mm, thickness_mm", true},
	{"head: {diameter_mm: 200 ± 2, thickness_mm: 25 ± 1}", "head: {diameter_mm: 200}", "14:9: support.head: thickness_mm is missing; add `thickness_mm: 460 ± 5`", true},
	{"head: {diameter_mm: 200 ± 2, thickness_mm: 25 ± 1}", "column: {diameter_mm: 100}", "15:3: support.legs: hip_height_mm is missing; add `hip_height_mm: 460 ± 5`, where the column stands", false},
	{"head: {diameter_mm: 200 ± 2, thickness_mm: 25 ± 1}\n  legs:\n", "column: {diameter_mm: 100, height_mm: 300}\n  legs:\n    hip_height_mm: 500\n", "14:30: support.column.height_mm: the key has no meaning here; it reaches from the hips to the head; remove it", false},
	{"tube:\n", "tubes:\n", "53:1: tubes: there is no such key; did you mean tube?", true},
	{"{name: camera, length_mm: 120, diameter_mm: 90", "{name: camera, length_mm: 120, diameter_mm: 90, colour: red", "71:57: tube.train.items[2].colour: there is no such key; its keys are name, length_mm, section, diameter_mm, width_mm, height_mm, offset_x_mm, offset_y_mm, travel_mm, turns, beside, mass_kg, condition", true},
	{"tray: {height_mm: 400", "tray: {height_cm: 400", "23:10: support.tray.height_cm: there is no such key; did you mean height_mm?", true},
	{"shape: capsule, size_mm: [50, 800]", "shape: capsule, size_mm: 50", "77:64: parts[0].size_mm: it is a single value, but a list is expected; write each entry on its own line behind a dash, or [a, b, c]", true},
	{"shape: capsule, size_mm: [50, 800]", "shape: sphere, size_mm: [50, 800]", "77:63: parts[0].size_mm: it has 2 numbers, but a sphere has 1; write [diameter]", true},
	{"at_mm: [900, 0, 450]", "at_mm: [900, north, 450]", "77:88: parts[0].at_mm[1]: \"north\" is not a number; write a number of millimetres such as 460, 460 ± 5 or 460 unmeasured", true},
	{"rate_spread_percent: 30", "rate_spread_percent: 100", "47:68: mount.slew.rate_spread_percent: 100 is not possible here; write a number from 0 to 99", true},
	{"elevation_m: 780", "elevation_m: 78000", "8:16: site.elevation_m: 78000 is not possible here; write a number from -500 to 9000", true},
	{"    note: taken off for flats", "    remark: taken off for flats", "80:5: conditions[0].remark: there is no such key; its keys are name, note", true},
	{"  - name: shield on", "  - note: on", "80:5: note: the key is here for the second time, first in line 79; keep one of the two", true},
	{"count: 3", "count: 2", "16:12: support.legs.count: 2 is not possible here; write a number from 3 to 8", true},
	{"count: 3", "count: 3.5", "16:12: support.legs.count: \"3.5\" is not a whole number; write one such as 3", true},
	{"first_azimuth_deg: 0 ± 2", "first_azimuth_deg: 400", "17:24: support.legs.first_azimuth_deg: 400 deg is not possible here; write a number from -180 to 360", true},
	{"first_azimuth_deg: 0 ± 2", "first_azimuth_deg: 0 ± 45", "17:24: support.legs.first_azimuth_deg: the tolerance 45 is larger than the 30 deg that is allowed; measure again, or write `unmeasured` behind the number", false},
	{"first_azimuth_deg: 0 ± 2", "first_azimuth_deg: north", "17:24: support.legs.first_azimuth_deg: \"north\" is not a number; write a number of degrees such as 45 or 45 ± 1", true},
	{"azimuth_from: true_north", "azimuth_from: magnetic_north", "18:19: support.legs.azimuth_from: \"magnetic_north\" is not one of its values; write true_north or polar_axis", true},
	{"section: round\n    width", "section: oval\n    width", "21:14: support.legs.section: \"oval\" is not one of its values; write round or square", true},
	{"    width_mm: 60 +- 2", "", "15:3: support.legs: width_mm is missing; add `width_mm: 460 ± 5`", true},
	{"    width_mm: 60 +- 2", "    width_mm: 60\n    depth_mm: 40", "23:5: support.legs.depth_mm: the key has no meaning here; a round leg has width_mm alone, its diameter; remove it", true},
	{"    foot_radius_mm: 550±5", "    foot_radius_mm: 550±5\n    hip_height_mm: 950", "21:20: support.legs.hip_height_mm: 950 mm is above the support's height_mm 900; both are measured from the ground", false},
	{"tray: {height_mm: 400", "tray: {height_mm: 1000", "23:21: support.tray.height_mm: 1000 mm is above the support's height_mm 900; both are measured from the ground", false},
	{"allowed_bearings_deg: [0, 60]", "allowed_bearings_deg: [0, 400]", "24:29: support.allowed_bearings_deg[1]: 400 is not possible here; write a number from 0 to 360", true},
	{"allowed_bearings_deg: [0, 60]", "allowed_bearings_deg: 60", "24:25: support.allowed_bearings_deg: it is a single value, but a list is expected; write each entry on its own line behind a dash, or [a, b, c]", true},
	{"extension: {diameter_mm: 150, height_mm: 200, wall_mm: 5 ± 0.1, material: aluminium}", "extension: {diameter_mm: 150}", "25:14: support.extension: height_mm is missing; add `height_mm: 460 ± 5`, which an extension adds", false},
	{"out_of_level: {lean_deg: 0.5", "out_of_level: {lean_deg: 45", "26:28: support.out_of_level.lean_deg: 45 deg is not possible here; write a number from 0 to 30", true},
	{"size_mm: [3000, 200, 1500]", "size_mm: [3000, 200]", "28:41: support.obstacles[0].size_mm: it has 2 numbers, but a box has 3; write [x, y, z]", true},
	{"size_mm: [3000, 200, 1500]", "size_mm: [3000, 200, 0]", "28:53: support.obstacles[0].size_mm[2]: the box's z is 0; write a number above 0", false},
	{"size_mm: [3000, 200, 1500]", "size_mm: [3000, 200, -1500]", "28:53: support.obstacles[0].size_mm[2]: -1500 mm is not possible here; write 0 or more", true},
	{"name: wall, shape: box", "name: wall, shape: cube", "28:27: support.obstacles[0].shape: \"cube\" is not one of its values; write box, cylinder, cone, capsule or sphere", true},
	{"name: wall, shape: box", "name: wall, frame: sky, shape: box", "28:27: support.obstacles[0].frame: \"sky\" is not one of its values; write ground, polar, arm or tube", true},
	{"at_mm: [0, 2500, 750]", "at_mm: [0, 2500]", "28:67: support.obstacles[0].at_mm: it has 2 numbers, but a place has 3; write [x, y, z] of the part's centre", true},
	{"polar_axis: {azimuth_error_deg: 0.2}", "polar_axis: {altitude_deg: -36.9}", "35:30: mount.polar_axis.altitude_deg: -36.9 deg is not possible here; write a number from 0 to 90", true},
	{"zero_errors: {ra_deg: 0 ± 0.3,", "zero_errors: {ra_deg: 90,", "36:25: mount.zero_errors.ra_deg: 90 deg is not possible here; write a number from -30 to 30", true},
	{"polar_housing: {diameter_mm: 120, from_mm: -150, to_mm: -40}", "polar_housing: {diameter_mm: 120, from_mm: -40, to_mm: -150}", "37:46: mount.polar_housing.from_mm: from_mm -40 is not below to_mm -150; write the smaller station as from_mm", false},
	{"declination_housing: {diameter_mm: 110", "declination_housing: {diameter_mm: 0", "38:38: mount.declination_housing.diameter_mm: 0 mm is not possible here; write a number above 0", true},
	{"  saddle_distance_mm: 160", "", "29:1: mount: saddle_distance_mm is missing; add `saddle_distance_mm: 460 ± 5`", true},
	{"mass_kg: 5}", "mass_kg: -5}", "43:67: mount.counterweights.weights[0].mass_kg: -5 kg is not possible here; write a number from 0 to 5000", true},
	{"mass_kg: 5}", "mass_kg: 5 kg}", "43:67: mount.counterweights.weights[0].mass_kg: \"5 kg\" carries the unit kg; the unit is in the key: write 5", true},
	{"ra_from_deg: -110, ra_to_deg: 110", "ra_from_deg: 110, ra_to_deg: -110", "46:25: mount.travel.ra_from_deg: ra_from_deg 110 is not below ra_to_deg -110; write the smaller angle as ra_from_deg", false},
	{"ra_from_deg: -110", "ra_from_deg: -400", "46:25: mount.travel.ra_from_deg: -400 is not possible here; write a number from -360 to 360", true},
	{"declination_flip: through_pole", "declination_flip: north", "46:65: mount.travel.declination_flip: \"north\" is not one of its values; write through_pole, through_far_pole or unknown", true},
	{"ra_deg_per_s: 3.5", "ra_deg_per_s: 0", "47:24: mount.slew.ra_deg_per_s: 0 is not possible here; write a number above 0 and up to 100", true},
	{"axis_order: both_at_once", "axis_order: both", "47:116: mount.slew.axis_order: \"both\" is not one of its values; write both_at_once, ra_first, dec_first or unknown", true},
	{"axes_hold: no", "axes_hold: true", "48:93: mount.own_rules.axes_hold: \"true\" is not one of its values; write yes, no or unknown", true},
	{"side_choice: by_hour_angle", "side_choice: random", "48:50: mount.own_rules.side_choice: \"random\" is not one of its values; write by_hour_angle, as_told or unknown", true},
	{"park: {ra_axis_deg: 0", "park: {ra_axis_deg: 150", "49:23: mount.park.ra_axis_deg: 150 is outside the axis travel -110 to 110; axis angles count from counterweight-down", false},
	{"entry_step_deg: 0.5", "entry_step_deg: 0", "50:19: mount.entry_step_deg: 0 is not possible here; write a number above 0 and up to 30", true},
	{"entry_step_deg: 0.5", "entry_step_dge: 0.5", "50:3: mount.entry_step_dge: there is no such key; did you mean entry_step_deg?", true},
	{"name: motor box", "name: wall", "52:14: mount.parts[0].name: \"wall\" is the name of support.obstacles[0] too; give each part a name of its own", false},
	{"axis_distance_mm: 110", "axis_distance_mm: -110", "55:21: tube.axis_distance_mm: -110 mm is not possible here; write a number above 0", true},
	{"{name: main tube, from_mm: -450, to_mm: 350", "{name: main tube, from_mm: 350, to_mm: 350", "59:34: tube.sections[0].from_mm: from_mm 350 is not below to_mm 350; write the smaller station as from_mm", false},
	{"condition: shield on}", "condition: shield off}", "60:103: tube.sections[1].condition: no condition \"shield off\" is declared; declare it: add `- name: shield off` under conditions, or write shield on", false},
	{"outlet: back", "outlet: front", "62:13: tube.train.outlet: \"front\" is not one of its values; write back or side", true},
	{"outlet: back", "outlet: side\n    start_mm: 80", "61:3: tube.train: side_angle_deg is missing; add `side_angle_deg: 45 ± 2`, which places a side outlet", true},
	{"outlet: back", "outlet: back\n    start_mm: 100", "63:5: tube.train.start_mm: the key has no meaning here; it belongs to outlet: side; remove it", true},
	{"rotator: {angle_deg: 90 ± 2, sweep_from_deg: 0, sweep_to_deg: 180}", "rotator: {sweep_from_deg: 0, sweep_to_deg: 180}", "64:14: tube.train.rotator: angle_deg is missing, but \"filter wheel\" turns with the rotator; add `rotator:` with `angle_deg: 90 ± 1`, the angle at which the train was measured", false},
	{"sweep_from_deg: 0, sweep_to_deg: 180", "sweep_from_deg: 0", "64:14: tube.train.rotator: only one end of the sweep is there; write both sweep_from_deg and sweep_to_deg", false},
	{"sweep_from_deg: 0, sweep_to_deg: 180", "sweep_from_deg: 0, sweep_to_deg: -90", "64:50: tube.train.rotator.sweep_from_deg: sweep_from_deg 0 is not below sweep_to_deg -90; write the smaller angle as sweep_from_deg", false},
	{"        diameter_mm: 110", "", "66:9: tube.train.items[0]: diameter_mm is missing; add `diameter_mm: 460 ± 5`, which a round item has", true},
	{"        diameter_mm: 110", "        diameter_mm: 110\n        width_mm: 100", "69:9: tube.train.items[0].width_mm: the key has no meaning here; it belongs to section: square; remove it", true},
	{"section: square, width_mm: 180,", "section: square,", "70:9: tube.train.items[1]: width_mm is missing; add `width_mm: 460 ± 5`, which a square item has", true},
	{"turns: true}\n      - {name: camera", "turns: yes}\n      - {name: camera", "70:117: tube.train.items[1].turns: \"yes\" is neither true nor false; write true or false", true},
	{"name: focuser # rack", "name: focuser\n        beside: true # rack", "67:17: tube.train.items[0].beside: there is no item before it to sit beside; put it behind the item that it sits beside", false},
	{"direction: [0, 0, 1]", "direction: [0, 0, 0]", "75:96: tube.parts[0].direction: it points nowhere; write [x, y, z], such as [0, 0, 1]", false},
	{"direction: [0, 0, 1]", "direction: [0, 1]", "75:96: tube.parts[0].direction: it has 2 numbers, but a direction has 3; write [x, y, z], such as [0, 0, 1]", true},
	{"name: cable post, frame: ground", "name: cable post", "77:5: parts[0]: frame is missing; add `frame: ground`, polar, arm or tube: what the part moves with", false},
	{"  - name: shield on", "  - name: rotator sweep\n  - name: shield on", "79:11: conditions[0].name: \"rotator sweep\" is built in; remove it: parts may name it without that", false},
	{"  - name: shield on", "  - name: shield on\n  - name: shield on", "80:11: conditions[1].name: the condition \"shield on\" is declared twice; keep one of the two", false},
	{"- [dew shield, main tube]", "- [dew shield, dew shield]", "82:5: joints[0]: it joins \"dew shield\" to itself; name two different parts", false},
	{"- [dew shield, main tube]", "- [dew shield]", "82:5: joints[0]: it has 1 entry; write exactly 2", true},
	{"- [dew shield, main tube]", "-", "82:4: joints[0]: it has no value; write one, or remove its dash", true},
	{"class: counterweighted", "class: &c counterweighted", "30:10: YAML anchors, aliases, merge keys and tags (here \"&\") are not read; write the value out, or share a section through `from: other.yaml`; put a text that starts so in quotes", false},
	{"class: counterweighted", "class: *c", "30:10: YAML anchors, aliases, merge keys and tags (here \"*\") are not read; write the value out, or share a section through `from: other.yaml`; put a text that starts so in quotes", true},
	{"class: counterweighted", "class: \"two\\nlines\"", "30:10: mount.class: the text holds a line break or a control character; write it on one line", false},
	{"class: counterweighted", "class: 'open", "30:10: this is not YAML: could not find end character of single-quoted text; check indentation, colons, quotes and brackets there", true},
	{"  class: counterweighted", " class: counterweighted", "30:9: this is not YAML: mapping value is not allowed in this context; check indentation, colons, quotes and brackets there", true},
	{"mount:\n", "mount:\n  from: ../mount.yaml\n", "30:9: mount.from: \"../mount.yaml\" leads out of the document's folder; name a file in the document's own folder or below it, with forward slashes", false},
	{"mount:\n", "mount:\n  from: missing.yaml\n", "30:9: mount.from: there is no file \"missing.yaml\"; name a file in the document's own folder or below it", false},
	{"joints:\n", "---\njoints:\n", "82:7: the file holds more than one YAML document, or a directive; write one document a file, without `---` and `%` lines", false},
	{"wall_mm: 5 ± 0.1", "wall_mm: 80 ± 0.1", "25:58: support.extension.wall_mm: a wall of 80 mm does not fit a diameter of 150 mm; write half of the diameter for a solid one", false},
	{"material: aluminium", "material: wood", "25:77: support.extension.material: \"wood\" is not one of its values; write aluminium or steel", true},
	{"material: aluminium", "material: aluminium, modulus_gpa: 69", "25:101: support.extension.modulus_gpa: material says it already; keep one of the two", false},
	{"kind: tripod\n", "kind: tripod\n  anchored: maybe\n", "13:13: support.anchored: \"maybe\" is not one of its values; write yes or no", true},
	{"kind: tripod\n", "kind: tripod\n  material: steel\n", "13:3: support.material: the key has no meaning here; it belongs to kind: pier; remove it", true},
	{"{part: saddle}", "{part: saddle, frame: arm}", "88:31: cables[0].ties[0].frame: it is held by a part and in a frame; keep one of the two", false},
	{"{part: saddle}", "{at_mm: [0, 0, 0]}", "88:9: cables[0].ties[0]: neither part nor frame is there; add `part: camera`, or `frame: tube` with `at_mm: [x, y, z]`", false},
	{"box: {frame: ground, at_mm: [200, 0, 400]}", "box: {frame: ground}", "90:10: cables[0].box: at_mm is missing; add `at_mm: [x, y, z]`, its place in the frame", false},
	{"at_mm: [200, 0, 400]", "at_mm: [200, 0]", "90:33: cables[0].box.at_mm: it has 2 numbers, but a place has 3; write [x, y, z]", false},
	{"    length_mm: 2500 ± 20\n", "", "84:5: cables[0]: length_mm is missing; add `length_mm: 460 ± 5`", true},
}

func TestBadDocuments(t *testing.T) {
	good, err := os.ReadFile("testdata/good.yaml")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Parse(good, "testdata/good.yaml"); err != nil {
		t.Fatal("the good document: ", err)
	}
	schema := compiled(t)
	for _, c := range bad {
		if n := bytes.Count(good, []byte(c.old)); n != 1 {
			t.Errorf("%q is in the good document %d times", c.old, n)
			continue
		}
		text := bytes.Replace(good, []byte(c.old), []byte(c.new), 1)
		_, err := Parse(text, "testdata/bad.yaml")
		if err == nil {
			t.Errorf("%q: taken", c.new)
			continue
		}
		if got := err.Error(); got != "testdata/bad.yaml:"+c.want {
			t.Errorf("%q:\n got %s\nwant testdata/bad.yaml:%s", c.new, got, c.want)
		}
		var e *Error
		if !errors.As(err, &e) || e.Remedy == "" || e.Problem == "" || e.Pos.Line == 0 {
			t.Errorf("%q: not an Error with problem, remedy and line: %#v", c.new, err)
		}
		if serr := schemaError(schema, text); (serr != nil) != c.seen {
			t.Errorf("%q: the schema says %v", c.new, serr)
		}
	}
}

// Several defects come in order of position, and at most twenty.
func TestManyDefects(t *testing.T) {
	good, err := os.ReadFile("testdata/good.yaml")
	if err != nil {
		t.Fatal(err)
	}
	_, err = Parse(regexp.MustCompile(`(_mm: )(-?[0-9])`).ReplaceAll(good, []byte("${1}x$2")), "bad.yaml")
	var all Errors
	if !errors.As(err, &all) || len(all) != maxErrors {
		t.Fatalf("%d defects: %v", len(all), err)
	}
	for i := 1; i < len(all); i++ {
		a, b := all[i-1].Pos, all[i].Pos
		if a.Line > b.Line || a.Line == b.Line && a.Col > b.Col {
			t.Errorf("%v stands before %v", a, b)
		}
	}
}

// Hostile text is refused within bounds and in few words.
func TestHostileText(t *testing.T) {
	for name, text := range map[string]string{
		"too large":        strings.Repeat("# nothing\n", 1<<17),
		"brackets":         "a: " + strings.Repeat("[", 100_000),
		"brackets by line": "a:\n" + strings.Repeat(" [\n", 100_000),
		"braces":           strings.Repeat("{a: ", 5_000),
		"dashes":           strings.Repeat("- ", 100_000),
		"dashes by line":   dashes(200),
		"keys":             nested(200),
		"one long line":    "name: " + strings.Repeat("x", 500_000),
		"list":             "legroom: 1\nparts:\n" + strings.Repeat("- a\n", 5000),
		"many keys":        "a:\n" + strings.Repeat("b:\n", 25_000),
		"many marks":       "a: [\n" + strings.Repeat(strings.Repeat("1,", 5000)+"\n", 50) + "]",
		"many lines":       strings.Repeat("\n", 500_000),
		"not UTF-8":        "name: \xff\xfe",
		"empty":            "",
		"comment":          "# only\n",
		"a list":           "- 1\n- 2\n",
		"a word":           "rig",
		"a number":         "1",
		"bomb":             "a: &a [1,1]\nb: &b [*a,*a]\nc: [*b,*b]\n",
		"merge":            "a: {x: 1}\n<<: {b: 1}\n",
		"tag":              "legroom: !!int 1\n",
		"control":          "legroom: 1\nname: \"a\\x1b[31m\"\n",
	} {
		_, err := Parse([]byte(text), "hostile.yaml")
		if err == nil {
			t.Errorf("%s: taken", name)
		} else if len(err.Error()) > 4000 {
			t.Errorf("%s: %d bytes of message", name, len(err.Error()))
		}
	}
}

func nested(n int) string {
	var b strings.Builder
	for i := range n {
		b.WriteString(strings.Repeat(" ", i) + "a:\n")
	}
	return b.String()
}

func dashes(n int) string {
	var b strings.Builder
	for i := range n {
		b.WriteString(strings.Repeat(" ", 2*i) + "-\n")
	}
	return b.String()
}

func TestTooManyParts(t *testing.T) {
	good, err := os.ReadFile("testdata/good.yaml")
	if err != nil {
		t.Fatal(err)
	}
	part := []byte("\nparts:\n  - {name: x, frame: ground, shape: sphere, size_mm: [5], at_mm: [9, 9, 9]}")
	many := bytes.Replace(good, []byte("\nparts:"), bytes.Replace(part, []byte("parts:\n"), []byte("parts:\n"+strings.Repeat("  - {name: y, frame: ground, shape: sphere, size_mm: [5], at_mm: [9, 9, 9]}\n", maxParts)), 1), 1)
	_, err = Parse(many, "many.yaml")
	if err == nil || !strings.Contains(err.Error(), "at most 500 are read") {
		t.Errorf("%v", err)
	}
}

func FuzzParse(f *testing.F) {
	good, err := os.ReadFile("testdata/good.yaml")
	if err != nil {
		f.Fatal(err)
	}
	f.Add(good)
	for _, c := range bad {
		f.Add(bytes.Replace(good, []byte(c.old), []byte(c.new), 1))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		r, err := Parse(text, "")
		if err != nil {
			var es Errors
			if !errors.As(err, &es) || len(es) == 0 || len(es) > maxErrors {
				t.Fatalf("%T %v", err, err)
			}
			return
		}
		if r.Clone().Fingerprint() != r.Fingerprint() {
			t.Fatal("the copy has another fingerprint")
		}
		for i, q := range r.Quantities {
			if q.ID != i || !q.Set() || !(q.Tol >= 0) || q.Value != q.Value || q.Path == "" {
				t.Fatalf("%d: %+v", i, q)
			}
		}
	})
}
