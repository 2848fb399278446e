package web

import (
	"context"
	"errors"
	"io/fs"
	"net/http"
	"os"
	"reflect"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/sse"

	"legroom/report"
	"legroom/room"
)

var errLater = huma.Error501NotImplemented("not there yet")

type Key struct{}
type mapCache struct{}
type folder struct {
	path string
	root *os.Root
}

func newMapCache() *mapCache                       { return &mapCache{} }
func (f *folder) rigs() ([]RigEntry, error)        { return nil, errLater }
func (s *server) stored(string) (RigText, error)   { return RigText{}, errLater }
func defective(err error) error                    { return err }
func page(fs.FS) http.Handler                      { return http.NotFoundHandler() }
func guard(_ Options, h http.Handler) http.Handler { return h }
func problem(w http.ResponseWriter, _ int, s string) {
	http.Error(w, s, 404)
}
func (s *server) watch(context.Context, time.Duration, sse.Sender) {}

type putIn struct {
	rigPath
	Body Saving
}

func (s *server) putRig(context.Context, *putIn) (*body[RigText], error) { return nil, errLater }
func (s *server) postRig(context.Context, *struct{ Body Choice }) (*body[RigText], error) {
	return nil, errLater
}

type editIn struct {
	Body struct {
		Draft
		Changes []Change `json:"changes" maxItems:"1000"`
	}
}
type poseIn struct {
	Body struct {
		Ask
		At
		Pairs int `json:"pairs,omitempty" minimum:"1" maximum:"500" default:"10" doc:"how many of the nearest pairs"`
	}
}
type sweptIn struct {
	Body struct {
		Ask
		Side   string  `json:"side" enum:"west,east"`
		DecDeg float64 `json:"dec_deg" minimum:"-90" maximum:"90"`
		FromH  float64 `json:"from_h" minimum:"-24" maximum:"24"`
		ToH    float64 `json:"to_h" minimum:"-24" maximum:"24"`
		Steps  int     `json:"steps,omitempty" minimum:"2" maximum:"200" default:"24"`
	}
}

func (s *server) draftRoutes(api huma.API) {
	huma.Post(api, "/api/read", func(context.Context, *struct{ Body Draft }) (*body[Doc], error) { return nil, errLater }, named("read", "What follows from a text"))
	huma.Post(api, "/api/edit", func(context.Context, *editIn) (*body[Edited], error) { return nil, errLater }, named("edit", "Change a text and keep its comments"))
}
func (s *server) poseRoutes(api huma.API) {
	huma.Post(api, "/api/pose", func(context.Context, *poseIn) (*body[report.PoseDoc], error) { return nil, errLater }, named("pose", "The gaps at one pose"))
	huma.Post(api, "/api/swept", func(context.Context, *sweptIn) (*body[Swept], error) { return nil, errLater }, named("swept", "The moving parts along a track"))
}

type mapIn struct {
	Body struct {
		Ask
		Page    string    `json:"page" minLength:"1" maxLength:"100" doc:"names the page: a newer question of the same page ends this one"`
		CellDeg []float64 `json:"cell_deg,omitempty" maxItems:"8" doc:"smallest cells of the frames, degrees, each smaller than the one before; [2, 0.25] when left out"`
	}
}
type limitsIn struct {
	Body struct {
		Ask
		RowDeg     float64   `json:"row_deg,omitempty" minimum:"0.5" maximum:"30" default:"5"`
		DecFromDeg float64   `json:"dec_from_deg,omitempty" minimum:"-90" maximum:"90"`
		DecToDeg   float64   `json:"dec_to_deg,omitempty" minimum:"-90" maximum:"90"`
		DecDeg     []float64 `json:"dec_deg,omitempty" maxItems:"100"`
		Mine       *Mine     `json:"mine,omitempty"`
	}
}

// Mine is the owner's own pair of limits, degrees of RA axis from counterweight-down.
type Mine struct {
	WestDeg float64 `json:"west_deg" minimum:"0" maximum:"180"`
	EastDeg float64 `json:"east_deg" minimum:"0" maximum:"180"`
}

// Place is one end of a slew: a pose, axis angles, or a pose that the document names.
type Place struct {
	Named string      `json:"named,omitempty" enum:"park,home"`
	Pose  *At         `json:"pose,omitempty"`
	Axes  *AxisAngles `json:"axes,omitempty"`
}

// AxisAngles are the two axis angles.
type AxisAngles struct {
	RAAxisDeg  float64 `json:"ra_axis_deg" minimum:"-720" maximum:"720"`
	DecAxisDeg float64 `json:"dec_axis_deg" minimum:"-720" maximum:"720"`
}
type slewIn struct {
	Body struct {
		Ask
		From  Place `json:"from"`
		To    Place `json:"to"`
		Route bool  `json:"route,omitempty" doc:"look for waypoints when the slew is not proven free"`
	}
}

func (s *server) mapRoutes(api huma.API) {
	huma.Post(api, "/api/map", func(context.Context, *mapIn) (*huma.StreamResponse, error) { return nil, errLater }, named("map", "The room map, coarse first"),
		func(o *huma.Operation) {
			head := api.OpenAPI().Components.Schemas.Schema(reflect.TypeFor[FrameHead](), true, "FrameHead")
			o.Responses = map[string]*huma.Response{"200": {Description: "frames, one after the other", Content: map[string]*huma.MediaType{
				"application/vnd.legroom.frames": {Schema: &huma.Schema{Description: "the JSON of each frame", OneOf: []*huma.Schema{head}}}}}}
		})
}
func (s *server) limitRoutes(api huma.API) {
	huma.Post(api, "/api/limits", func(context.Context, *limitsIn) (*body[report.LimitsDoc], error) { return nil, errLater }, named("limits", "The limits, as the command gives them"))
	huma.Post(api, "/api/check", func(context.Context, *struct{ Body Ask }) (*body[report.CheckDoc], error) { return nil, errLater }, named("check", "What looks wrong, and what to measure better"))
	huma.Post(api, "/api/slew", func(context.Context, *slewIn) (*body[report.SlewDoc], error) { return nil, errLater }, named("slew", "Is a slew proven free"))
}
func (s *server) targetRoutes(api huma.API) {
	huma.Get(api, "/api/targets", func(context.Context, *struct {
		Q string `query:"q" maxLength:"100"`
	}) (*body[Found], error) {
		return nil, errLater
	}, named("findTargets", "Search the built-in list"))
	huma.Get(api, "/api/rigs/{id}/targets", func(context.Context, *rigPath) (*body[TargetList], error) { return nil, errLater }, named("getTargets", "The owner's targets for a rig"))
	huma.Put(api, "/api/rigs/{id}/targets", func(context.Context, *putIn) (*body[TargetList], error) { return nil, errLater }, named("putTargets", "Write the owner's targets"), conflicting(api))
}

type exportIn struct {
	Kind string `path:"kind" enum:"card.pdf,map.svg,map.png,dome.svg,dome.png,map.csv,limits.csv,scene.glb,scene.stl,rig.yaml"`
	Body struct {
		Ask
		At   *At    `json:"at,omitempty" doc:"the pose of a scene"`
		Date string `json:"date,omitempty" format:"date" doc:"to print on a card; today when left out"`
	}
}

func (s *server) exportRoutes(api huma.API) {
	huma.Post(api, "/api/export/{kind}", func(context.Context, *exportIn) (*huma.StreamResponse, error) { return nil, errLater }, named("export", "A file to keep: the bytes that the command writes"))
	_ = errors.New
	_ = room.Free
}
