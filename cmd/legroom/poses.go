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

	"legroom/axes"
	"legroom/report"
)

func newPoses() *cobra.Command {
	var a ask
	var input string
	c := &cobra.Command{
		Use:   "poses RIG --input FILE.csv",
		Short: "The least gap at many poses, one JSON line each",
		Long: `Reads poses as lines of side,hour_angle_h,dec_deg (a first line with these names may stand above
them) from a file, or from standard input when the file is "-", and writes one JSON line for each,
in the same order; --format text or csv writes a table instead. A pose that the axes do not reach says why.`,
		Example: `  legroom poses examples/terrace-long-refractor.yaml --input poses.csv
  printf 'west,-0.3,37\neast,0.5,37\n' | legroom poses examples/terrace-long-refractor.yaml --input -`,
		Args: oneRig,
		RunE: func(c *cobra.Command, args []string) error {
			if err := required(c, "input"); err != nil {
				return err
			}
			g, err := a.gauge(c, args[0])
			if err != nil {
				return err
			}
			in, name := c.InOrStdin(), "standard input"
			if input != "-" {
				f, err := os.Open(input)
				if err != nil {
					return fmt.Errorf("--input %q cannot be read: %w; give a file of poses, or - for standard input", input, errors.Unwrap(err))
				}
				defer f.Close()
				in, name = f, input
			}
			out := bufio.NewWriterSize(c.OutOrStdout(), 1<<16)
			w := report.NewPoseWriter(out, a.name)
			s := g.NewScratch()
			err = eachPose(in, name, func(p axes.Pose, hourAngleH, decDeg float64) error {
				return w.Write(report.Line(g, p.Side, hourAngleH, decDeg, g.Gap(g.Model.Head.Angles(p), s)))
			})
			return errors.Join(out.Flush(), err)
		},
	}
	c.Flags().StringVar(&input, "input", "", "the file of poses, or - for standard input")
	a.flags(c, "json", "text", "csv")
	return c
}

// maxRow bounds how much is read for one line, bytes: more than the buffer, so that no pose misses it.
const maxRow = 1 << 18

// rationed is a reader with so many bytes left to give.
type rationed struct {
	in   io.Reader
	left int
}

func (r *rationed) Read(p []byte) (int, error) {
	if r.left <= 0 {
		return 0, errors.New("a line of it does not end")
	}
	n, err := r.in.Read(p[:min(len(p), r.left)])
	r.left -= n
	return n, err
}

// eachPose calls f for every line of in, whose name the errors give with the line.
func eachPose(in io.Reader, name string, f func(p axes.Pose, hourAngleH, decDeg float64) error) error {
	const right = "give side,hour_angle_h,dec_deg such as west,-1.5,37"
	ration := &rationed{in: in, left: maxRow}
	text := bufio.NewReaderSize(ration, 1<<16)
	if mark, err := text.Peek(3); err == nil && string(mark) == "\ufeff" {
		text.Discard(3)
	}
	rows := csv.NewReader(text)
	rows.FieldsPerRecord = -1
	rows.ReuseRecord = true
	rows.TrimLeadingSpace = true
	for n := 0; ; n++ {
		ration.left = maxRow
		row, err := rows.Read()
		if errors.Is(err, io.EOF) {
			return nil
		}
		var bad *csv.ParseError
		if errors.As(err, &bad) {
			return fmt.Errorf("%s:%d: %w; %s", name, bad.Line, bad.Err, right)
		}
		if err != nil {
			return fmt.Errorf("%s cannot be read: %w", name, err)
		}
		line, _ := rows.FieldPos(0)
		if len(row) != 3 {
			return fmt.Errorf("%s:%d: it must hold three values, not %d; %s", name, line, len(row), right)
		}
		for i := range row {
			row[i] = strings.TrimSpace(row[i])
		}
		if n == 0 && row[0] == "side" {
			if row[1] != "hour_angle_h" || row[2] != "dec_deg" {
				return fmt.Errorf("%s:%d: columns %s; they must be side,hour_angle_h,dec_deg in this order", name, line, strings.Join(row, ","))
			}
			continue
		}
		var x [2]float64
		for i, v := range row[1:] {
			if x[i], err = strconv.ParseFloat(v, 64); err != nil {
				return fmt.Errorf("%s:%d: %q is no number; %s", name, line, v, right)
			}
		}
		p, err := poseOf(row[0], x[0], x[1])
		if err != nil {
			return fmt.Errorf("%s:%d: %w", name, line, err)
		}
		if err := f(p, x[0], x[1]); err != nil {
			return err
		}
	}
}
