package main

import (
	"bufio"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"legroom/report"
)

func newPoses() *cobra.Command {
	var a ask
	var input string
	c := &cobra.Command{
		Use:   "poses RIG --input FILE.csv",
		Short: "The least gap at many poses, one JSON line each",
		Long: `Reads poses as lines of side,hour_angle_h,dec_deg (a first line with these names may stand above them) from a file, or
from standard input when the file is "-", and writes one JSON line for each, in the same order.`,
		Example: "  printf 'west,-0.3,37\\neast,0.5,37\\n' | legroom poses examples/terrace-long-refractor.yaml --input -",
		Args:    cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			g, err := a.gauge(args[0])
			if err != nil {
				return err
			}
			in := io.Reader(os.Stdin)
			if input != "-" {
				f, err := os.Open(input)
				if err != nil {
					return err
				}
				defer f.Close()
				in = f
			}
			rows := csv.NewReader(bufio.NewReaderSize(in, 1<<16))
			rows.FieldsPerRecord = 3
			rows.ReuseRecord = true
			rows.TrimLeadingSpace = true
			out := bufio.NewWriterSize(os.Stdout, 1<<16)
			s := g.NewScratch()
			for n := 0; ; n++ {
				f, err := rows.Read()
				if errors.Is(err, io.EOF) {
					return out.Flush()
				}
				if err != nil {
					return errors.Join(out.Flush(), fmt.Errorf("%s: %w; give side,hour_angle_h,dec_deg", input, err))
				}
				if n == 0 && strings.EqualFold(f[0], "side") {
					continue
				}
				line, _ := rows.FieldPos(0)
				where := fmt.Sprintf("%s:%d", input, line)
				h, err1 := strconv.ParseFloat(f[1], 64)
				d, err2 := strconv.ParseFloat(f[2], 64)
				if err := errors.Join(err1, err2); err != nil {
					return errors.Join(out.Flush(), fmt.Errorf("%s: %w; give side,hour_angle_h,dec_deg with numbers such as west,-1.5,37", where, err))
				}
				p, err := poseOf(f[0], h, d)
				if err != nil {
					return errors.Join(out.Flush(), fmt.Errorf("%s: %w", where, err))
				}
				gap := g.Gap(g.Model.Head.Angles(p), s)
				if err := report.WriteLine(out, report.Line(g, p.Side, h, d, gap)); err != nil {
					return err
				}
			}
		},
	}
	c.Flags().StringVar(&input, "input", "", "the file of poses, or - for standard input")
	c.MarkFlagRequired("input")
	a.flags(c)
	return c
}
