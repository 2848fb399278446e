// Package rig holds the rig document: what an owner measures and writes down, the templates to start from, the
// tolerances, and the parts that follow from it all.
//
// A document's keys carry their units. Lengths are millimetres as a tape measure gives them, angles degrees, azimuths
// clockwise from true north seen from above in both hemispheres. Along the tube a station is the distance from the
// centre of the saddle, forward positive.
package rig

// The tags on the fields are the rules that Load checks and the schema shows: min and max (inclusive), above
// (exclusive), oneof, default (the value when the key is absent), tol (the tolerance when none is written; "none" where
// none may be), fingerprint:"-" (does not affect a gap or a limit). A key without omitempty must be there.

// Rig is one document: site, support, mount, tube, with everything attached.
type Rig struct {
	Legroom  int    `yaml:"legroom"` // version of the format; this program reads version 1
	Name     string `yaml:"name" fingerprint:"-"`
	MarginMM Length `yaml:"margin_mm,omitempty" min:"0" max:"1000" tol:"none" default:"30"` // the gap that the owner insists on; 30 when absent

	Site       Site        `yaml:"site"`
	Support    Support     `yaml:"support"`
	Mount      Mount       `yaml:"mount"`
	Tube       Tube        `yaml:"tube"`
	Parts      []ExtraPart `yaml:"parts,omitempty"`      // anything else, in any frame; one of the ground that has a mass rests on the support, as ballast does
	Conditions []Condition `yaml:"conditions,omitempty"` // named conditions that parts may belong to
	// Joints lists further pairs joined by construction; of two that an axis moves against each other check warns, for their gap
	// counts nowhere.
	Joints []Joint `yaml:"joints,omitempty"`
	// Cables are what must reach from a plug by its ties to a box in every pose. They are no parts: their gaps do not count.
	Cables []Cable `yaml:"cables,omitempty" fingerprint:"-"`

	// Path is the file that the document was read from.
	Path string `yaml:"-"`
	// Quantities lists every measured length, angle and mass with the value in force, in the order of the fields below
	// here, whatever the order in the file; those that the document left out and that have a default come with
	// Source == Default.
	Quantities []*Quantity `yaml:"-"`

	defaults []DefaultUsed // what Load filled in
	files    []string      // what Load read beside the document
	tree     *node         // the document with its from: files merged, never changed after Load
}

// Site is where the rig stands.
type Site struct {
	LatitudeDeg  float64 `yaml:"latitude_deg" min:"-90" max:"90"`                    // north positive
	LongitudeDeg float64 `yaml:"longitude_deg" min:"-180" max:"180" fingerprint:"-"` // east positive
	ElevationM   float64 `yaml:"elevation_m,omitempty" min:"-500" max:"9000" fingerprint:"-"`
	TimeZone     string  `yaml:"time_zone" fingerprint:"-"` // an IANA name
	Horizon      Horizon `yaml:"horizon,omitempty"`
}

// Horizon is the visible horizon as azimuth, altitude pairs in degrees, sorted by azimuth, linear between the points
// and wrapping at 360°. Empty means altitude 0 all round. In the document it is a list of pairs or the name of a text
// file with one `azimuth altitude` pair a line and # comments.
type Horizon [][2]float64

// SupportKind names what stands on the ground.
type SupportKind string

const (
	Tripod SupportKind = "tripod"
	Pier   SupportKind = "pier"
)

// Support is what the mount stands on. World origin: on the ground under its centre.
type Support struct {
	Kind     SupportKind `yaml:"kind" oneof:"tripod pier"`
	HeightMM Length      `yaml:"height_mm" above:"0"` // ground to the face that the mount, or an extension, stands on

	// A tripod's own.

	Head     *Disc     `yaml:"head,omitempty"`   // the plate under that face
	Column   *Column   `yaml:"column,omitempty"` // from the hips up to the head: the half pier on short legs
	Legs     *Legs     `yaml:"legs,omitempty"`
	Tray     *Tray     `yaml:"tray,omitempty"`
	Spreader *Spreader `yaml:"spreader,omitempty"`
	Bearings []float64 `yaml:"allowed_bearings_deg,omitempty" min:"0" max:"360"` // azimuths that the first leg may take (peg positions); empty: any

	// A pier's own.

	DiameterMM Length   `yaml:"diameter_mm,omitempty" above:"0"`
	TopPlate   *Disc    `yaml:"top_plate,omitempty"`                                        // the plate under the face, wider than the pier
	WallMM     Length   `yaml:"wall_mm,omitempty" above:"0" tol:"0.5" fingerprint:"-"`      // of a hollow pier; half of the diameter for a solid one
	Material   Material `yaml:"material,omitempty" oneof:"aluminium steel" fingerprint:"-"` // another: give modulus_gpa
	ModulusGPa float64  `yaml:"modulus_gpa,omitempty" above:"0" max:"1500" fingerprint:"-"` // modulus of elasticity of another material

	MassKg   Mass   `yaml:"mass_kg,omitempty" min:"0" max:"5000"`              // tripod or pier as a whole, without what has a mass of its own
	Anchored string `yaml:"anchored,omitempty" oneof:"yes no" fingerprint:"-"` // yes: held down by a footing or bolts, so that it cannot tip; absent: it only stands there

	Extension *Column     `yaml:"extension,omitempty"` // a pier extension (riser) on top of the face; needs height_mm
	Level     *Level      `yaml:"out_of_level,omitempty"`
	Obstacles []ExtraPart `yaml:"obstacles,omitempty"` // wall, roof edge, table, cable post; frame ground when not said
}

// Foreign lists the keys of a support that have no meaning for one of this kind: those of the other kind.
func (k SupportKind) Foreign() []string {
	switch k {
	case Tripod:
		return []string{"diameter_mm", "top_plate", "wall_mm", "material", "modulus_gpa"}
	case Pier:
		return []string{"head", "column", "legs", "tray", "spreader", "allowed_bearings_deg"}
	}
	return nil
}

// Disc is a round plate.
type Disc struct {
	DiameterMM  Length `yaml:"diameter_mm" above:"0"`
	ThicknessMM Length `yaml:"thickness_mm" above:"0"`
}

// Column is a round upright.
type Column struct {
	DiameterMM Length   `yaml:"diameter_mm" above:"0"`
	HeightMM   Length   `yaml:"height_mm,omitempty" above:"0"`                              // of an extension
	WallMM     Length   `yaml:"wall_mm,omitempty" above:"0" tol:"0.5" fingerprint:"-"`      // half of the diameter for a solid one
	Material   Material `yaml:"material,omitempty" oneof:"aluminium steel" fingerprint:"-"` // another: give modulus_gpa
	ModulusGPa float64  `yaml:"modulus_gpa,omitempty" above:"0" max:"1500" fingerprint:"-"` // modulus of elasticity of another material
	MassKg     Mass     `yaml:"mass_kg,omitempty" min:"0" max:"5000"`
}

// Material is what an upright is made of.
type Material string

const (
	Aluminium Material = "aluminium"
	Steel     Material = "steel"
)

// Legs are equally spaced straight legs from the hips down to the ground.
type Legs struct {
	Count           int     `yaml:"count,omitempty" min:"3" max:"8" default:"3"` // 3 when absent
	FirstAzimuthDeg Angle   `yaml:"first_azimuth_deg" min:"-180" max:"360" tol:"3"`
	MeasuredFrom    Bearing `yaml:"azimuth_from,omitempty" oneof:"true_north polar_axis" default:"true_north"` // true_north (default) or polar_axis
	HipRadiusMM     Length  `yaml:"hip_radius_mm" min:"0"`                                                     // centre line of the support to the leg's centre at its top
	HipHeightMM     Length  `yaml:"hip_height_mm,omitempty" above:"0"`
	FootRadiusMM    Length  `yaml:"foot_radius_mm" above:"0"`
	Section         Section `yaml:"section" oneof:"round square"`
	WidthMM         Length  `yaml:"width_mm" above:"0"`           // diameter of a round leg, or the tangential width of a square one
	DepthMM         Length  `yaml:"depth_mm,omitempty" above:"0"` // the other width of a square leg; as width_mm when absent
}

// Section is the cross-section of a leg or of an element of the train.
type Section string

const (
	Round  Section = "round"
	Square Section = "square"
)

// Bearing says what an azimuth is measured from: true north, or the horizontal direction of the polar axis' elevated end,
// which is south in the southern hemisphere.
type Bearing string

const (
	TrueNorth Bearing = "true_north"
	PolarAxis Bearing = "polar_axis"
)

// Tray is a round shelf between the legs.
type Tray struct {
	HeightMM    Length `yaml:"height_mm" above:"0"` // ground to its upper face
	DiameterMM  Length `yaml:"diameter_mm" above:"0"`
	ThicknessMM Length `yaml:"thickness_mm" above:"0"`
}

// Spreader is a set of bars from the centre line to each leg at one height.
type Spreader struct {
	HeightMM Length `yaml:"height_mm" above:"0"`
	WidthMM  Length `yaml:"width_mm" above:"0"` // round bars: their diameter
}

// Level says how far the support leans, and to which azimuth. The polar axis is not tilted by it: what was aligned
// stays aligned.
type Level struct {
	LeanDeg    Angle `yaml:"lean_deg" min:"0" max:"30"`
	AzimuthDeg Angle `yaml:"azimuth_deg" min:"0" max:"360"`
}

// Mount is a German equatorial mount, with or without counterweights.
type Mount struct {
	Class string `yaml:"class,omitempty" fingerprint:"-"` // free words of the owner's

	Base       *Base      `yaml:"base,omitempty"`
	CrossingMM Crossing   `yaml:"crossing"`
	PolarAxis  *PolarSet  `yaml:"polar_axis,omitempty" default:"{}"`
	Zero       *ZeroError `yaml:"zero_errors,omitempty" default:"{}"`

	PolarHousing       Barrel         `yaml:"polar_housing"`
	DeclinationHousing Barrel         `yaml:"declination_housing"`
	Counterweights     *Counterweight `yaml:"counterweights,omitempty"`
	SaddleDistanceMM   Length         `yaml:"saddle_distance_mm" above:"0"` // crossing to the clamping face of the saddle, along the declination axis
	Saddle             *Plate         `yaml:"saddle,omitempty"`

	Travel Travel    `yaml:"travel,omitempty"`
	Slew   Slew      `yaml:"slew,omitempty"`
	Rules  OwnRules  `yaml:"own_rules,omitempty"`
	Park   *AxisPose `yaml:"park,omitempty"`
	Home   *AxisPose `yaml:"home,omitempty"`

	EntryStepDeg float64     `yaml:"entry_step_deg,omitempty" above:"0" max:"30" default:"1"` // step in which the mount takes an axis limit; 1 when absent
	Parts        []ExtraPart `yaml:"parts,omitempty"`                                         // motors, knobs, a power box; frame arm when not said
	// Joints names parts of the mount that are built to pass each other: their gap does not count, which check warns of where they overlap.
	Joints []Joint `yaml:"joints,omitempty"`
}

// Base is the round azimuth base between the support's face and the head.
type Base struct {
	DiameterMM Length `yaml:"diameter_mm" above:"0"`
	HeightMM   Length `yaml:"height_mm" above:"0"`
	MassKg     Mass   `yaml:"mass_kg,omitempty" min:"0" max:"5000"`
}

// Crossing places the point where the axes cross.
type Crossing struct {
	HeightMM Length `yaml:"height_mm" above:"0"`                 // above the face that the mount stands on
	OffsetMM Length `yaml:"offset_mm,omitempty" default:"0 ± 5"` // horizontally from the centre line, towards the elevated pole positive; 0 when absent
}

// PolarSet is where the polar axis really points, when that is not the pole.
type PolarSet struct {
	AltitudeDeg     Angle `yaml:"altitude_deg,omitempty" min:"0" max:"90" tol:"0.5"`                            // |latitude| when absent
	AzimuthErrorDeg Angle `yaml:"azimuth_error_deg,omitempty" min:"-180" max:"180" tol:"0.5" default:"0 ± 0.5"` // of the elevated end, clockwise seen from above; 0 when absent
}

// ZeroError holds what the axis angles may be wrong by; each is 0 ± 0.5 when absent.
type ZeroError struct {
	RADeg   Angle `yaml:"ra_deg,omitempty" min:"-30" max:"30" tol:"0.5" default:"0 ± 0.5"`
	DecDeg  Angle `yaml:"dec_deg,omitempty" min:"-30" max:"30" tol:"0.5" default:"0 ± 0.5"`
	ConeDeg Angle `yaml:"cone_deg,omitempty" min:"-30" max:"30" tol:"0.5" default:"0 ± 0.5"` // tube out of square with the declination axis, about the tube's third axis
}

// Barrel is a round housing along its axis, between two stations measured from the crossing. Stations are positive
// towards the elevated pole for the polar housing and towards the saddle for the declination housing.
type Barrel struct {
	DiameterMM Length `yaml:"diameter_mm" above:"0"`
	FromMM     Length `yaml:"from_mm"`
	ToMM       Length `yaml:"to_mm"`
	MassKg     Mass   `yaml:"mass_kg,omitempty" min:"0" max:"5000"`
}

// Counterweight is the bar and the weights on it. Distances are from the crossing, away from the saddle.
type Counterweight struct {
	BarDiameterMM Length   `yaml:"bar_diameter_mm" above:"0"`
	BarEndMM      Length   `yaml:"bar_end_mm" above:"0"` // crossing to the bar's end
	BarMassKg     Mass     `yaml:"bar_mass_kg,omitempty" min:"0" max:"5000"`
	Weights       []Weight `yaml:"weights,omitempty"`
}

// Weight is one round counterweight.
type Weight struct {
	AtMM        Length `yaml:"at_mm" min:"0"` // crossing to its centre
	DiameterMM  Length `yaml:"diameter_mm" above:"0"`
	ThicknessMM Length `yaml:"thickness_mm" above:"0"`
	MassKg      Mass   `yaml:"mass_kg,omitempty" min:"0" max:"5000"`
}

// Plate is a flat bar along the tube: a saddle or a dovetail.
type Plate struct {
	AtMM        Length `yaml:"at_mm,omitempty" default:"0 ± 0"` // station of its centre; 0 when absent
	LengthMM    Length `yaml:"length_mm" above:"0"`
	WidthMM     Length `yaml:"width_mm" above:"0"`
	ThicknessMM Length `yaml:"thickness_mm" above:"0"`
	MassKg      Mass   `yaml:"mass_kg,omitempty" min:"0" max:"5000"`
}

// Travel is how far the axes may turn, in axis angles: RA from counterweight-down (positive the way the sky moves),
// declination from the elevated pole. ±180 when absent.
type Travel struct {
	RAFromDeg  *float64 `yaml:"ra_from_deg,omitempty" min:"-360" max:"360" default:"-180"`
	RAToDeg    *float64 `yaml:"ra_to_deg,omitempty" min:"-360" max:"360" default:"180"`
	DecFromDeg *float64 `yaml:"dec_from_deg,omitempty" min:"-360" max:"360" default:"-180"`
	DecToDeg   *float64 `yaml:"dec_to_deg,omitempty" min:"-360" max:"360" default:"180"`
	// Flip names which way the declination axis turns in a flip.
	Flip FlipWay `yaml:"declination_flip,omitempty" oneof:"through_pole through_far_pole unknown" default:"unknown"`
}

// FlipWay is the way that the declination axis takes in a flip.
type FlipWay string

const (
	ThroughPole  FlipWay = "through_pole"     // β passes 0: the tube sweeps by the elevated pole
	AwayFromPole FlipWay = "through_far_pole" // β passes ±180
	UnknownWay   FlipWay = "unknown"          // both must be free
)

// Slew is how the mount slews.
type Slew struct {
	RADegPerS     float64  `yaml:"ra_deg_per_s,omitempty" above:"0" max:"100" default:"3"`                                 // 3 when absent
	DecDegPerS    float64  `yaml:"dec_deg_per_s,omitempty" above:"0" max:"100" default:"3"`                                // 3 when absent
	SpreadPercent *float64 `yaml:"rate_spread_percent,omitempty" min:"0" max:"99" default:"30"`                            // how far the ratio of the rates may be off; 30 when absent
	OvershootDeg  *float64 `yaml:"overshoot_deg,omitempty" min:"0" max:"30" default:"1"`                                   // 1 when absent
	SettleS       float64  `yaml:"settle_s,omitempty" min:"0" max:"3600" default:"10"`                                     // added to a flip's duration; 10 when absent
	Order         Order    `yaml:"axis_order,omitempty" oneof:"both_at_once ra_first dec_first unknown" default:"unknown"` // unknown when absent
}

// Order is the order in which a slew moves the axes.
type Order string

const (
	BothAtOnce   Order = "both_at_once"
	RAFirst      Order = "ra_first"
	DecFirst     Order = "dec_first"
	UnknownOrder Order = "unknown"
)

// OwnRules is what the mount decides by itself; unknown where absent, and then every case must be free.
type OwnRules struct {
	EarliestFlipMin *float64 `yaml:"earliest_flip_min,omitempty" min:"-720" max:"720"`                              // minutes past the meridian, negative before
	SideChoice      string   `yaml:"side_choice,omitempty" oneof:"by_hour_angle as_told unknown" default:"unknown"` // by_hour_angle | as_told | unknown
	AtLimit         string   `yaml:"at_limit,omitempty" oneof:"stops flips runs_on unknown" default:"unknown"`      // stops | flips | runs_on | unknown
	// AxesHold says whether both axes stay where they are without power, loaded as they are: yes | no | unknown. Only then may the
	// watch have the power cut.
	AxesHold string `yaml:"axes_hold,omitempty" fingerprint:"-" oneof:"yes no unknown" default:"unknown"`
}

// AxisPose is a pose given by its axis angles.
type AxisPose struct {
	RAAxisDeg  float64 `yaml:"ra_axis_deg" min:"-360" max:"360"`
	DecAxisDeg float64 `yaml:"dec_axis_deg" min:"-360" max:"360"`
}

// Tube is the telescope with what is bolted to it. Tube frame: x from the declination axis out to the tube, z where it
// points, y = z × x.
type Tube struct {
	Class          string      `yaml:"class,omitempty" fingerprint:"-"`
	AxisDistanceMM Length      `yaml:"axis_distance_mm" above:"0"`         // clamping face of the saddle to the tube's axis
	SlideMM        Length      `yaml:"slide_mm,omitempty" default:"0 ± 0"` // moves tube, train and guide tubes forward through the rings; 0 when absent
	Dovetail       *Plate      `yaml:"dovetail,omitempty"`
	TopRail        *Plate      `yaml:"top_rail,omitempty"` // a second bar on the far side of the tube
	Sections       []TubePiece `yaml:"sections"`
	Train          *Train      `yaml:"train,omitempty"`
	GuideTubes     []GuideTube `yaml:"guide_tubes,omitempty"`
	Parts          []ExtraPart `yaml:"parts,omitempty"` // power and computer boxes, handles; frame tube when not said
}

// TubePiece is a round piece of the tube between two stations: tube, ring, dew shield, cell.
type TubePiece struct {
	Name          string `yaml:"name"`
	FromMM        Length `yaml:"from_mm"`
	ToMM          Length `yaml:"to_mm"`
	DiameterMM    Length `yaml:"diameter_mm" above:"0"`
	EndDiameterMM Length `yaml:"end_diameter_mm,omitempty" above:"0"` // at to_mm, when it tapers
	MassKg        Mass   `yaml:"mass_kg,omitempty" min:"0" max:"5000"`
	Condition     string `yaml:"condition,omitempty"`
}

// Outlet is where the imaging train leaves the tube.
type Outlet string

const (
	Back Outlet = "back"
	Side Outlet = "side"
)

// Train is the imaging train: a stack that starts at the tube and leads away from it.
type Train struct {
	Outlet Outlet `yaml:"outlet,omitempty" oneof:"back side" default:"back"` // back when absent
	FromMM Length `yaml:"from_mm"`                                           // station where the stack starts (back) or of its axis (side)
	// A side outlet's own: the stack's axis leaves the tube's axis at this angle about it, and starts at start_mm from it.
	SideAngleDeg Angle   `yaml:"side_angle_deg,omitempty" min:"-360" max:"360"`
	StartMM      Length  `yaml:"start_mm,omitempty" min:"0"`
	Rotator      Rotator `yaml:"rotator,omitempty"`
	Items        []Item  `yaml:"items"` // in order away from the tube
}

// Rotator turns every item of the train after it (those with `turns: true`).
// Angle 0 puts an item's x axis along the tube frame's x axis (away from the declination axis); positive angles turn
// x towards the tube frame's y.  For a side outlet, 0 puts x along the tube's axis, forward.
type Rotator struct {
	AngleDeg     Angle    `yaml:"angle_deg,omitempty" min:"-360" max:"360" default:"0 ± 0"`
	SweepFromDeg *float64 `yaml:"sweep_from_deg,omitempty" min:"-360" max:"360"` // an automatic rotator: the angles it may take
	SweepToDeg   *float64 `yaml:"sweep_to_deg,omitempty" min:"-360" max:"360"`
}

// Item is one element of the imaging train.
type Item struct {
	Name       string  `yaml:"name"`
	LengthMM   Length  `yaml:"length_mm" above:"0"`                                    // along the train
	Section    Section `yaml:"section,omitempty" oneof:"round square" default:"round"` // round when absent
	DiameterMM Length  `yaml:"diameter_mm,omitempty" above:"0"`                        // round
	WidthMM    Length  `yaml:"width_mm,omitempty" above:"0"`                           // square: along the item's x
	HeightMM   Length  `yaml:"height_mm,omitempty" above:"0"`                          // square: along the item's y
	OffsetXMM  Length  `yaml:"offset_x_mm,omitempty" default:"0 ± 0"`                  // of its centre from the train's axis, along the item's x
	OffsetYMM  Length  `yaml:"offset_y_mm,omitempty" default:"0 ± 0"`
	TravelMM   Length  `yaml:"travel_mm,omitempty" min:"0" default:"0 ± 0"` // a focuser: how much further out it may rack than measured
	Turns      bool    `yaml:"turns,omitempty"`                             // turns with the rotator
	Beside     bool    `yaml:"beside,omitempty"`                            // sits at the same place as the item before it ends; does not lengthen the train
	MassKg     Mass    `yaml:"mass_kg,omitempty" min:"0" max:"5000"`
	Condition  string  `yaml:"condition,omitempty"`
}

// GuideTube is a second tube parallel to the first: guide tube or finder.
type GuideTube struct {
	Name       string `yaml:"name"`
	FromMM     Length `yaml:"from_mm"`
	ToMM       Length `yaml:"to_mm"`
	DiameterMM Length `yaml:"diameter_mm" above:"0"`
	BesideMM   Length `yaml:"beside_mm" above:"0"`            // tube's axis to its axis
	AngleDeg   Angle  `yaml:"angle_deg" min:"-360" max:"360"` // about the tube: 0 is away from the saddle, +90 is the tube frame's +y
	MassKg     Mass   `yaml:"mass_kg,omitempty" min:"0" max:"5000"`
}

// ShapeKind names one of the five convex shapes.
type ShapeKind string

const (
	Box      ShapeKind = "box"      // size x, y, z
	Cylinder ShapeKind = "cylinder" // diameter, length; along z, centred
	Cone     ShapeKind = "cone"     // diameter at −z, diameter at +z, length; a frustum, centred
	Capsule  ShapeKind = "capsule"  // diameter, length between the centres; along z, centred
	Sphere   ShapeKind = "sphere"   // diameter
)

// Frame is what a part moves with.
type Frame string

const (
	Ground    Frame = "ground" // world: x east, y north, z up, origin on the ground under the support's centre
	Polar     Frame = "polar"  // the tilted head: (x̂, p × x̂, p) at the crossing
	Arm       Frame = "arm"    // turns with the RA axis: (a, p × a, p) at the crossing
	TubeFrame Frame = "tube"   // turns with both: (a, v, u); documents measure it from the centre of the saddle's face
)

// ExtraPart is any other convex part. It is turned by turn_deg about its own z axis; then the shortest turn takes the
// frame's z to its direction (half a turn about the frame's x for the exact opposite). Ground parts of this kind do not lean
// with the support.
type ExtraPart struct {
	Name      string    `yaml:"name"`
	Frame     Frame     `yaml:"frame,omitempty" oneof:"ground polar arm tube"`
	Shape     ShapeKind `yaml:"shape" oneof:"box cylinder cone capsule sphere"`
	SizeMM    []Length  `yaml:"size_mm" min:"0"`
	AtMM      []Length  `yaml:"at_mm"`                                                   // its centre
	Direction []float64 `yaml:"direction,omitempty"`                                     // of its z axis, any length; [0, 0, 1] when absent
	TurnDeg   Angle     `yaml:"turn_deg,omitempty" min:"-360" max:"360" default:"0 ± 0"` // about its z axis
	MassKg    Mass      `yaml:"mass_kg,omitempty" min:"0" max:"5000"`
	Condition string    `yaml:"condition,omitempty"`
}

// Condition is a named state of things, such as a roof shut or a flat panel in front. Parts that carry its name are there
// only in that condition. While nobody knows, they count as there.
type Condition struct {
	Name string `yaml:"name"`
	Note string `yaml:"note,omitempty" fingerprint:"-"`
}

// Joint names two parts that touch by construction.
type Joint [2]string

// Cable leads from a plug by its ties to a box, straight from one to the next.
type Cable struct {
	Name     string   `yaml:"name"`
	LengthMM Length   `yaml:"length_mm" above:"0"` // along the cable, from the plug's end to the box
	Plug     Anchor   `yaml:"plug"`
	Ties     []Anchor `yaml:"ties,omitempty"` // where it is held, in order
	Box      Anchor   `yaml:"box"`
}

// Anchor is where a cable is held: a place on a part, whose moves it then follows, or a place in a frame.
type Anchor struct {
	Part  string    `yaml:"part,omitempty"`                                // the name of a part
	Frame Frame     `yaml:"frame,omitempty" oneof:"ground polar arm tube"` // instead of a part
	AtMM  []float64 `yaml:"at_mm,omitempty" min:"-100000" max:"100000"`    // on a part: from its centre along its own axes, its centre when absent; in a frame: as for an extra part
}
