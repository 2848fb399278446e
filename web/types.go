package web

import (
	"legroom/report"
	"legroom/rig"
)

// RigEntry is one rig document of the folder.
type RigEntry struct {
	ID          string `json:"id" doc:"path in the folder, without .yaml" example:"terrace-riser"`
	File        string `json:"file" doc:"path in the folder"`
	Name        string `json:"name" doc:"the rig's own name; empty when the document cannot be read"`
	Fingerprint string `json:"fingerprint" doc:"of everything that affects gaps; empty when the document cannot be read"`
	Version     string `json:"version" doc:"of the file and of the files that it takes sections from"`
	Watched     bool   `json:"watched" doc:"the watch of this process watches it"`
	Problem     string `json:"problem,omitempty" doc:"why it cannot be read: the first defect"`
}

// RigText is a rig document as it stands on disk.
type RigText struct {
	ID      string `json:"id"`
	Version string `json:"version" doc:"of the file and of the files that it takes sections from; PUT asks for it"`
	Text    string `json:"text" doc:"the main file"`
	Doc     Doc    `json:"doc"`
}

// Draft is the text of a rig that need not be on disk.
type Draft struct {
	ID   string  `json:"id" minLength:"1" maxLength:"400" doc:"the rig's id: its files are looked for beside it"`
	Text *string `json:"text,omitempty" doc:"the main file as the page has it; left out: as it stands on disk"`
}

// Ask is a question about gaps.
type Ask struct {
	Draft
	Tolerance string   `json:"tolerance,omitempty" enum:"rss,worst,none" default:"rss" doc:"what the tolerances take off each gap"`
	MarginMM  *float64 `json:"margin_mm,omitempty" minimum:"0" maximum:"1000" doc:"the gap to insist on; left out: the document's"`
	With      []string `json:"with,omitempty" maxItems:"100" doc:"conditions that hold; one that is not named counts at its worst"`
	Without   []string `json:"without,omitempty" maxItems:"100" doc:"conditions that do not hold"`
}

// At is a pose by hour angle and declination.
type At struct {
	Side       string  `json:"side" enum:"west,east" doc:"the pointing state, named by where the tube is when its target is at upper transit"`
	HourAngleH float64 `json:"hour_angle_h" minimum:"-24" maximum:"24"`
	DecDeg     float64 `json:"dec_deg" minimum:"-90" maximum:"90" doc:"apparent declination of date"`
}

// Doc is what follows from the text of a rig. When errors is not empty the rest is too, but for id.
type Doc struct {
	ID          string              `json:"id"`
	Errors      []Defect            `json:"errors" doc:"every defect that makes the document unreadable, in order of position, at most 20"`
	Fingerprint string              `json:"fingerprint"`
	Name        string              `json:"name"`
	MarginMM    float64             `json:"margin_mm"`
	Site        *Site               `json:"site,omitempty"`
	Quantities  []Quantity          `json:"quantities" doc:"every length, angle and mass in force, in the order of a document's sections"`
	Settings    []Setting           `json:"settings" doc:"every word, switch and plain number, in the order of a document's sections"`
	Conditions  []string            `json:"conditions" doc:"names that a question may give in with and without"`
	Findings    []report.FindingDoc `json:"findings" doc:"what looks wrong, errors first"`
	Defaults    []report.DefaultDoc `json:"defaults" doc:"what the document left to the program"`
	Parts       []Part              `json:"parts" doc:"the solids that follow from the document"`
	Joined      [][2]string         `json:"joined" doc:"pairs whose gap does not count, by construction or by a joint"`
	Joints      []Joint             `json:"joints" doc:"the joints that the document names"`
	Travel      *Travel             `json:"travel,omitempty"`
	CrossingMM  []float64           `json:"crossing_mm" doc:"where the axes cross, world frame"`
	Head        *Head               `json:"head,omitempty" doc:"what places parts between two answers"`
	MassKg      report.MassDoc      `json:"mass_kg"`
	Files       []string            `json:"files" doc:"the files that the document takes sections from, paths in the folder"`
	Sections    Sections            `json:"sections" doc:"the file that a section is taken from; empty when it is written in the main file"`
}

// Sections says which file each of the three sections comes from.
type Sections struct {
	Support string `json:"support"`
	Mount   string `json:"mount"`
	Tube    string `json:"tube"`
}

// Defect is one thing that makes a document unreadable.
type Defect struct {
	File    string `json:"file" doc:"path in the folder"`
	Line    int    `json:"line" doc:"1-based; 0 when it has no place"`
	Col     int    `json:"col"`
	Path    string `json:"path" doc:"in the document, such as support.legs.width_mm"`
	Problem string `json:"problem" doc:"what is wrong"`
	Remedy  string `json:"remedy" doc:"what would be right"`
}

// Site is where the rig stands.
type Site struct {
	LatitudeDeg  float64      `json:"latitude_deg"`
	LongitudeDeg float64      `json:"longitude_deg"`
	ElevationM   float64      `json:"elevation_m"`
	TimeZone     string       `json:"time_zone"`
	Horizon      [][2]float64 `json:"horizon" doc:"azimuth, altitude pairs, degrees; empty: altitude 0 all round"`
}

// Quantity is one length, angle or mass of the document.
type Quantity struct {
	Path      string     `json:"path" doc:"in the document, such as tube.train.items[2].length_mm"`
	Group     string     `json:"group" enum:"general,support,mount,tube,train,extras"`
	Of        string     `json:"of" doc:"what it measures, such as legs or filter wheel"`
	Label     string     `json:"label" doc:"which of its measures, such as foot radius"`
	Help      string     `json:"help" doc:"what it means and from where to where it is measured; may be empty"`
	Value     float64    `json:"value"`
	Tolerance float64    `json:"tolerance" doc:"half-width that holds 95 of 100 times"`
	Unit      string     `json:"unit" enum:"mm,deg,kg"`
	Source    rig.Source `json:"source" enum:"measured,fitted,unmeasured,default"`
	Note      string     `json:"note" doc:"the comment behind it in the document: where and how it was measured"`
	Min       *float64   `json:"min,omitempty"`
	Max       *float64   `json:"max,omitempty"`
	Above     bool       `json:"above,omitempty" doc:"min itself is not allowed"`
	File      string     `json:"file" doc:"path in the folder of the file that it is written in; empty for a default"`
	Line      int        `json:"line"`
	Col       int        `json:"col"`
}

// Part is one solid of the rig in its own frame.
type Part struct {
	Name      string        `json:"name"`
	Frame     rig.Frame     `json:"frame" enum:"ground,polar,arm,tube"`
	Shape     rig.ShapeKind `json:"shape" enum:"box,cylinder,cone,capsule,sphere"`
	SizeMM    []float64     `json:"size_mm" doc:"as in the pose document"`
	MassKg    float64       `json:"mass_kg"`
	Condition string        `json:"condition" doc:"the condition in which it is there; empty: always"`
	From      string        `json:"from" doc:"document path that it follows from"`
}

// Joint is a pair that the document says is built together.
type Joint struct {
	Path string `json:"path" doc:"in the document, such as mount.joints[0]"`
	A    string `json:"a"`
	B    string `json:"b"`
}

// Travel is how far the axes may turn, degrees.
type Travel struct {
	RAFromDeg  float64 `json:"ra_from_deg"`
	RAToDeg    float64 `json:"ra_to_deg"`
	DecFromDeg float64 `json:"dec_from_deg"`
	DecToDeg   float64 `json:"dec_to_deg"`
}

// Head is the mount's axes, so that the page can move parts on between two answers. Directions are unit vectors, world frame.
type Head struct {
	LatitudeDeg float64    `json:"latitude_deg"`
	X           [3]float64 `json:"x" doc:"of the saddle, seen from the crossing, counterweight-down"`
	W           [3]float64 `json:"w" doc:"where x turns to as the RA axis angle rises"`
	P           [3]float64 `json:"p" doc:"elevated end of the polar axis"`
	Aligned     bool       `json:"aligned" doc:"p is the pole"`
	RAZeroDeg   float64    `json:"ra_zero_deg" doc:"added to what the mount believes"`
	DecZeroDeg  float64    `json:"dec_zero_deg"`
}

// Change is one change of a document's text.
type Change struct {
	Op    string `json:"op" enum:"set,delete,insert,move,duplicate,note"`
	Path  string `json:"path" minLength:"1" maxLength:"400" doc:"such as support.legs.width_mm, tube.train.items[2].length_mm or tube.train.items[filter wheel]"`
	Value string `json:"value,omitempty" maxLength:"20000" doc:"set: what to write (460 ± 5, a word, or a list or mapping in brackets); insert: the new entry, a mapping in brackets, before the one at path; move: the index that it shall have; duplicate: the new entry's name; note: the comment behind the value"`
}

// Edited is a document's text after changes.
type Edited struct {
	Text string `json:"text"`
	Doc  Doc    `json:"doc"`
}

// Choice is what a new rig starts from.
type Choice struct {
	ID           string            `json:"id,omitempty" maxLength:"200" doc:"the file to write, without .yaml; left out: after the name"`
	Name         string            `json:"name" minLength:"1" maxLength:"200"`
	LatitudeDeg  float64           `json:"latitude_deg" minimum:"-90" maximum:"90"`
	LongitudeDeg float64           `json:"longitude_deg" minimum:"-180" maximum:"180"`
	ElevationM   float64           `json:"elevation_m,omitempty" minimum:"-500" maximum:"9000"`
	TimeZone     string            `json:"time_zone" minLength:"1" maxLength:"100" doc:"an IANA name"`
	Support      string            `json:"support"`
	Extension    string            `json:"extension,omitempty" doc:"empty: none"`
	Mount        string            `json:"mount"`
	Tube         string            `json:"tube"`
	Answers      map[string]string `json:"answers,omitempty" doc:"measured lengths by the name that the templates ask for, such as 900 ± 3"`
}

// Swept is where the moving parts stand along a track.
type Swept struct {
	Fingerprint string      `json:"fingerprint"`
	HourAngleH  []float64   `json:"hour_angle_h"`
	Free        []bool      `json:"free" doc:"whether each place is proven free; nothing is said about what lies between"`
	GapMM       []float64   `json:"gap_mm"`
	Parts       []SweptPart `json:"parts" doc:"the parts that move along the track"`
}

// SweptPart is one part along a track.
type SweptPart struct {
	Name   string        `json:"name"`
	Frame  rig.Frame     `json:"frame" enum:"arm,tube"`
	Shape  rig.ShapeKind `json:"shape" enum:"box,cylinder,cone,capsule,sphere"`
	SizeMM []float64     `json:"size_mm"`
	Places [][12]float64 `json:"places" doc:"row-major 3x4, part to world, mm; one an hour angle"`
}

// SkyObject is a row of the built-in list of objects.
type SkyObject struct {
	Name          string     `json:"name" doc:"the designation with the first common name behind it"`
	Designation   string     `json:"designation" doc:"as a list of targets takes it"`
	Also          []string   `json:"also" doc:"further designations and names"`
	Kind          string     `json:"kind"`
	Constellation string     `json:"constellation"`
	RADeg         float64    `json:"ra_deg" doc:"J2000"`
	DecDeg        float64    `json:"dec_deg"`
	SizeArcmin    [2]float64 `json:"size_arcmin"`
}

// Found is the answer to a search.
type Found struct {
	Objects []SkyObject `json:"objects" doc:"the likeliest first, at most twenty"`
}

// TargetList is the owner's list of targets for one rig.
type TargetList struct {
	File    string   `json:"file" doc:"path in the folder; the rig's id with .targets.yaml behind it"`
	Version string   `json:"version" doc:"of the file; empty when there is none yet"`
	Text    string   `json:"text"`
	Targets []Target `json:"targets"`
	Errors  []Defect `json:"errors"`
}

// Target is one entry of the list.
type Target struct {
	Name      string   `json:"name"`
	RADeg     float64  `json:"ra_deg" doc:"J2000"`
	DecDeg    float64  `json:"dec_deg"`
	Priority  int      `json:"priority" doc:"1 is the first; 0: none written"`
	SubS      float64  `json:"sub_s" doc:"0: none written"`
	WantedS   float64  `json:"wanted_s" doc:"0: none written"`
	ExtentDeg float64  `json:"extent_deg"`
	Filters   []string `json:"filters"`
	Notes     []string `json:"notes" doc:"what to know of how it was read"`
}

// Saving is a text to write over the version that was read.
type Saving struct {
	Version string `json:"version" doc:"that the text was made from"`
	Text    string `json:"text"`
}

// Conflict is the answer to a saving when the file has changed meanwhile.
type Conflict struct {
	Title   string `json:"title"`
	Status  int    `json:"status"`
	Detail  string `json:"detail"`
	Version string `json:"version" doc:"of what is on disk now; empty when the file is gone"`
	Text    string `json:"text"`
}

// Health says that the server is there.
type Health struct {
	Program string `json:"program" enum:"legroom"`
	Version string `json:"version" doc:"of the program"`
	Listen  string `json:"listen" doc:"host and port"`
	Demo    bool   `json:"demo" doc:"the rigs are copies of the examples"`
}

// RigsEvent tells that rigs came, went or changed their names.
type RigsEvent struct {
	Rigs []RigEntry `json:"rigs"`
}

// FileEvent tells that a rig's file, or one that it takes a section from, changed on disk.
type FileEvent struct {
	ID      string `json:"id"`
	Version string `json:"version"`
}

// FrameHead stands before the bytes of one frame of a map. A frame is: the length of this JSON in bytes as four bytes, the least
// first; the JSON; then the planes one after the other, in the order of planes.
type FrameHead struct {
	Kind        string           `json:"kind" enum:"states,gaps,end" doc:"states: what is proven of every pose; gaps: samples for colour; end: nothing follows"`
	Fingerprint string           `json:"fingerprint"`
	MarginMM    float64          `json:"margin_mm"`
	ToleranceMM float64          `json:"tolerance_mm"`
	Columns     int              `json:"columns" doc:"hour angle −12 h to 12 h, each point at the centre of its field"`
	Rows        int              `json:"rows" doc:"declination −90° to 90°, the least first"`
	CellDeg     float64          `json:"cell_deg" doc:"states: the smallest cell of the map"`
	Exact       bool             `json:"exact" doc:"states: a field is free only when every pose in it is proven free; false when the polar axis is off the pole and a field is what the cell at its centre is"`
	Planes      []Plane          `json:"planes"`
	Pairs       [][2]string      `json:"pairs,omitempty" doc:"gaps: the pairs that the plane pair counts in"`
	EdgePercent float64          `json:"edge_percent,omitempty" doc:"states: undecided part of the map"`
	Room        *report.ShareDoc `json:"room_percent,omitempty" doc:"end: free part of the sky above the horizon; of the finest map"`
	Last        bool             `json:"last" doc:"the finest of its kind"`
	Problem     string           `json:"problem,omitempty" doc:"end: why there is no answer"`
}

// Plane is one run of bytes in a frame, rows × columns values, row by row.
type Plane struct {
	Name string `json:"name" enum:"state,gap,pair" doc:"state: 0 edge (undecided, counts as not free), 1 free, 2 blocked, 3 outside the travel; gap: millimetres, rounded down, of the pairs across (tube or arm to the ground, tube to the head) with the tolerances taken off, −32768 outside the travel; pair: index in pairs, 65535 for none"`
	Side string `json:"side" enum:"west,east"`
	Type string `json:"type" enum:"uint8,int16,uint16" doc:"the least byte first"`
}
