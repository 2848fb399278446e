package web

import (
	"context"
	"fmt"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"

	changes "legroom/change"
	"legroom/night"
	"legroom/report"
	"legroom/rig"
)

// ChangeBase is what every question about changes takes.
type ChangeBase struct {
	Ask
	Date    string  `json:"date,omitempty" format:"date" doc:"the evening's that targets are looked at for; tonight's when left out"`
	Targets *string `json:"targets,omitempty" doc:"a list of targets, YAML; left out: declinations 10° apart"`
	PushN   float64 `json:"push_n,omitempty" minimum:"0" maximum:"100000" default:"10" doc:"sideways push that bending is for"`
	WindMS  float64 `json:"wind_m_per_s,omitempty" minimum:"0" maximum:"100" default:"4" doc:"wind that bending is for"`
}

// CompareAsk asks for variants beside the rig as it is.
type CompareAsk struct {
	ChangeBase
	Variants []VariantAsk `json:"variants" maxItems:"24"`
	Lost     string       `json:"lost,omitempty" enum:"none,night,season" default:"none" doc:"whether minutes that the rig costs are counted, and over what: it takes longest"`
	Months   int          `json:"months,omitempty" minimum:"1" maximum:"24" default:"6" doc:"of a season, from the date's month on"`
	SubS     float64      `json:"sub_s,omitempty" minimum:"1" maximum:"21600" default:"300" doc:"length of a sub-exposure, for targets that do not say"`
}

// VariantAsk is one changed document.
type VariantAsk struct {
	Name  string    `json:"name" minLength:"1" maxLength:"200"`
	Edits []EditAsk `json:"edits" minItems:"1" maxItems:"50"`
}

// EditAsk is one change: a value, or what a file of the folder holds.
type EditAsk struct {
	Path  string `json:"path" minLength:"1" maxLength:"400" doc:"of the document, or a short name"`
	Value string `json:"value,omitempty" maxLength:"20000" doc:"as the document would write it; a plain number keeps the tolerance that is there"`
	File  string `json:"file,omitempty" maxLength:"400" doc:"path in the folder, instead of a value"`
}

// Compared is the rig as it is, first, and its variants.
type Compared struct {
	Doc   report.VariantsDoc `json:"doc" doc:"as the command gives it"`
	Texts []string           `json:"texts" doc:"the document of each; nothing is written"`
}

// SolveAsk asks the solver.
type SolveAsk struct {
	ChangeBase
	Aim       string     `json:"aim" minLength:"1" maxLength:"100" doc:"most-room, least-idle, no-idle, past=MINUTES; behind the last three may stand above DEGREES"`
	Variables []VaryAsk  `json:"variables" minItems:"1" maxItems:"3"`
	Keep      SideLimits `json:"keep,omitempty" doc:"what a solution must hold besides"`
}

// VaryAsk is a length or angle that may change.
type VaryAsk struct {
	Path string  `json:"path" minLength:"1" maxLength:"400" doc:"of the document, or a short name"`
	From float64 `json:"from" minimum:"-10000" maximum:"10000"`
	To   float64 `json:"to" minimum:"-10000" maximum:"10000" doc:"above from"`
}

// SideLimits are side constraints; what is left out or 0 is not asked for.
type SideLimits struct {
	Balance bool    `json:"balance,omitempty" doc:"the counterweights can balance the RA axis, and the declination axis is no more out of balance than now"`
	Cables  bool    `json:"cables,omitempty" doc:"every cable whose length is given reaches"`
	TipMM   float64 `json:"tip_mm,omitempty" minimum:"0" maximum:"10000" doc:"the centre of mass stays so far inside of the feet's polygon"`
	PushN   float64 `json:"push_n,omitempty" minimum:"0" maximum:"100000" doc:"no less sideways push tips it over"`
	WindMS  float64 `json:"wind_m_per_s,omitempty" minimum:"0" maximum:"100" doc:"nor less wind"`
}

// Solved is what the solver found.
type Solved struct {
	Doc  report.SolveDoc `json:"doc" doc:"as the command gives it"`
	Text *string         `json:"text" doc:"the best rig's document; nothing is written. null when there is none"`
}

// ScanAsk asks for a chart over one variable or a map over two.
type ScanAsk struct {
	SolveAsk
	Points int `json:"points,omitempty" minimum:"2" maximum:"101" doc:"along each variable; 31 for one, 11 for two"`
}

// Scanned is a space of one or two variables looked at point by point.
type Scanned struct {
	MissUnit  string        `json:"miss_unit" enum:"percent,min"`
	Variables []ScannedAxis `json:"variables"`
	Cells     []ScannedCell `json:"cells" doc:"the first variable fastest"`
}

// ScannedAxis is one variable of it.
type ScannedAxis struct {
	Path    string    `json:"path"`
	Unit    string    `json:"unit"`
	Present float64   `json:"present"`
	At      []float64 `json:"at"`
}

// ScannedCell is one point of it.
type ScannedCell struct {
	Room float64 `json:"room_percent" doc:"on either side"`
	Miss float64 `json:"miss" doc:"of the aim; 0 for an aim of room"`
	Bad  string  `json:"bad,omitempty" doc:"why there is no such rig"`
}

// ShortDoc is a short name for what owners most often change.
type ShortDoc struct {
	Name  string `json:"name"`
	Path  string `json:"path"`
	Words string `json:"words"`
	Unit  string `json:"unit" enum:"mm,deg"`
}

func (s *server) changeRoutes(api huma.API) {
	huma.Get(api, "/api/change/names", func(context.Context, *struct{}) (*body[[]ShortDoc], error) {
		out := []ShortDoc{}
		for _, n := range changes.Shorts() {
			out = append(out, ShortDoc{n.Name, n.Path, n.Words, n.Unit})
		}
		return &body[[]ShortDoc]{out}, nil
	}, named("changeNames", "Short names for what owners most often change"))
	worked(api, s, "changeCompare", "/api/change/compare", "Variants of a rig side by side", func(ctx context.Context, in *struct{ Body CompareAsk }, progress func(float64)) (*Compared, error) {
		return s.compare(ctx, in.Body, progress)
	})
	worked(api, s, "changeSolve", "/api/change/solve", "The least change that meets an aim", func(ctx context.Context, in *struct{ Body SolveAsk }, progress func(float64)) (*Solved, error) {
		return s.solve(ctx, in.Body, progress)
	})
	worked(api, s, "changeScan", "/api/change/scan", "A chart over one variable, or a map over two", func(ctx context.Context, in *struct{ Body ScanAsk }, progress func(float64)) (*Scanned, error) {
		return s.scan(ctx, in.Body, progress)
	})
}

// changing prepares a question about changes of a document: nothing is written.
func (s *server) changing(q ChangeBase) (*rig.Document, *rig.Rig, changes.Ask, time.Time, error) {
	fail := func(err error) (*rig.Document, *rig.Rig, changes.Ask, time.Time, error) {
		return nil, nil, changes.Ask{}, time.Time{}, err
	}
	w, err := s.work(q.Ask)
	if err != nil {
		return fail(err)
	}
	text, err := s.text(q.Draft)
	if err != nil {
		return fail(err)
	}
	d, err := rig.Draft(text, s.folder.on(rigFile(q.ID)))
	if err != nil {
		return fail(err)
	}
	r := w.gauge.Model.Rig
	evening := q.Date
	if evening == "" {
		if evening, err = r.Site.Evening(time.Now()); err != nil {
			return fail(err)
		}
	}
	date, err := time.Parse(time.DateOnly, evening)
	if err != nil {
		return fail(err)
	}
	a := changes.Ask{Holds: q.With, HoldsNot: q.Without, Mode: rig.ToleranceMode(q.Tolerance), MarginMM: q.MarginMM, PushN: q.PushN, WindMS: q.WindMS}
	if q.Targets != nil {
		list, err := s.nightTargets(NightAsk{Ask: q.Ask, Targets: q.Targets})
		if err != nil {
			return fail(err)
		}
		for _, t := range list {
			a.Targets = append(a.Targets, changes.TargetAt(t, date.Add(24*time.Hour)))
		}
	}
	return d, r, a, date, nil
}

func (s *server) compare(ctx context.Context, q CompareAsk, progress func(float64)) (*Compared, error) {
	d, _, a, date, err := s.changing(q.ChangeBase)
	if err != nil {
		return nil, err
	}
	over := ""
	if q.Lost != "none" && len(a.Targets) > 0 {
		o := night.Options{Sub: time.Duration(q.SubS * float64(time.Second)), MinBlock: 20 * time.Minute}
		a.Lost = &changes.Lost{Date: date, Options: o}
		over = "the night of " + date.Format(time.DateOnly) + ", each target as if the night were for it alone"
		if q.Lost == "season" {
			a.Lost.Months = q.Months
			over = fmt.Sprintf("%d months from %s on", q.Months, date.Format("2006-01"))
		}
	}
	var variants []changes.Variant
	for _, v := range q.Variants {
		out := changes.Variant{Name: v.Name}
		for _, e := range v.Edits {
			edit := changes.Edit{Path: e.Path, Value: e.Value}
			if e.File != "" {
				if err := s.folder.check(e.File); err != nil {
					return nil, err
				}
				edit.File = s.folder.on(e.File)
			}
			out.Edits = append(out.Edits, edit)
		}
		variants = append(variants, out)
	}
	list, err := changes.Compare(ctx, d, variants, a, progress)
	if err != nil {
		return nil, err
	}
	out := &Compared{Doc: report.Changes(list, a, over), Texts: []string{}}
	for i, r := range list {
		out.Texts = append(out.Texts, string(r.Document))
		for k := range out.Doc.Variants[i].Changes {
			c := &out.Doc.Variants[i].Changes[k]
			c.File = s.folder.name(c.File)
		}
	}
	return out, nil
}

// problem is what the solver is asked.
func (s *server) problem(q SolveAsk) (p changes.Problem, err error) {
	if p.Document, _, p.Ask, _, err = s.changing(q.ChangeBase); err != nil {
		return p, err
	}
	if p.Aim, err = changes.ParseAim(q.Aim); err != nil {
		return p, err
	}
	k := q.Keep
	p.Limits = changes.Limits{Balance: k.Balance, Cables: k.Cables, TipMM: k.TipMM, PushN: k.PushN, WindMS: k.WindMS}
	for _, v := range q.Variables {
		p.Variables = append(p.Variables, changes.Variable{Path: v.Path, From: v.From, To: v.To, Price: -1})
	}
	return p, nil
}

func (s *server) solve(ctx context.Context, q SolveAsk, progress func(float64)) (*Solved, error) {
	p, err := s.problem(q)
	if err != nil {
		return nil, err
	}
	found, err := changes.Solve(ctx, p, func(x changes.Progress) { progress(x.Done) })
	if err != nil {
		return nil, err
	}
	present, err := changes.MeasureVariant(ctx, p.Document, changes.Variant{Name: "present"}, p.Ask, nil)
	if err != nil {
		return nil, err
	}
	out := &Solved{Doc: report.Solved(found, present, p.Ask)}
	if found.Result != nil {
		text := string(found.Result.Document)
		out.Text = &text
	}
	return out, nil
}

// Smallest cells of the maps of a chart, degrees, as on the command line.
const (
	chartCell = 0.5
	planeCell = 1
)

func (s *server) scan(ctx context.Context, q ScanAsk, progress func(float64)) (*Scanned, error) {
	p, err := s.problem(q.SolveAsk)
	if err != nil {
		return nil, err
	}
	cell, n := chartCell, 31
	switch len(p.Variables) {
	case 2:
		cell, n = planeCell, 11
	case 3:
		return nil, huma.Error422UnprocessableEntity("there is a chart over one variable and a map over two, none over three")
	}
	if q.Points != 0 {
		n = q.Points
	}
	found, err := changes.NewScan(ctx, p, n, cell, progress)
	if err != nil {
		return nil, err
	}
	out := &Scanned{MissUnit: "min", Variables: []ScannedAxis{}, Cells: []ScannedCell{}}
	if p.Aim.Kind == changes.MostRoom {
		out.MissUnit = "percent"
	}
	for i, v := range found.Variables {
		out.Variables = append(out.Variables, ScannedAxis{v.Path, found.Units[i], found.Present[i], found.At[i]})
	}
	for _, c := range found.Cells {
		out.Cells = append(out.Cells, ScannedCell{c.Room, c.Miss, strings.ReplaceAll(c.Bad, s.folder.path+"/", "")})
	}
	return out, nil
}
