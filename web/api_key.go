package web

import (
	"context"
	"fmt"
	"net/http"
	"strings"

	"github.com/danielgtaylor/huma/v2"
	"github.com/piglig/go-qr"
)

// OpenWith lets one more browser in, such as a phone's.
type OpenWith struct {
	Address string `json:"address" doc:"to open there; it works once"`
	Size    int    `json:"size" doc:"modules along a side of its square code (ISO/IEC 18004)"`
	Path    string `json:"path" doc:"the dark modules as an SVG path, a module a unit"`
}

func (s *server) keyRoutes(api huma.API) {
	huma.Post(api, "/api/key", func(context.Context, *struct{}) (*body[OpenWith], error) {
		if s.o.Key == nil {
			return nil, huma.Error409Conflict("only this computer can open this page; start with --listen and an address of it in your own network, such as --listen 192.168.1.20:7433")
		}
		s.o.Key.another()
		d := OpenWith{Address: s.o.Key.URL(s.o.Listen)}
		code, err := go_qr.EncodeText(d.Address, go_qr.Medium)
		if err != nil {
			return nil, err
		}
		d.Size = code.Size()
		var b strings.Builder
		for y := range d.Size {
			for x := range d.Size {
				if code.Module(x, y) {
					fmt.Fprintf(&b, "M%d %dh1v1h-1z", x, y)
				}
			}
		}
		d.Path = b.String()
		return &body[OpenWith]{d}, nil
	}, named("key", "A one-time address for one more browser", http.StatusConflict))
}
