package sky

import (
	"fmt"
	"math"
	"math/rand"
	"strings"
	"testing"
)

func TestParseRA(t *testing.T) {
	orion := 15 * (5 + 35/60.0 + 17.3/3600)
	for _, c := range []struct {
		key, text string
		want      float64
	}{
		{"ra", "05h35m17.3s", orion}, {"ra", "5h35m17.3", orion}, {"ra", "5:35:17.3", orion}, {"ra", "05 35 17.3", orion}, {"ra", "5h 35m 17.3s", orion},
		{"ra", "5h35′17.3″", orion}, {"ra", "+5:35:17.3", orion}, {"ra_h", "5:35:17.3", orion}, {"ra_h", "5 35 17.3", orion},
		{"ra", "83.822", 83.822}, {"ra", "83.822°", 83.822}, {"ra", "83.822 deg", 83.822}, {"ra", "83.822d", 83.822}, {"ra_deg", "83.822", 83.822},
		{"ra", "83°49'19\"", 83 + 49/60.0 + 19/3600.0}, {"ra_deg", "83°49'19''", 83 + 49/60.0 + 19/3600.0},
		{"ra", "5.588h", 5.588 * 15}, {"ra_h", "5.588", 5.588 * 15}, {"ra_h", "5.588h", 5.588 * 15}, {"ra", "5:35.29", 15 * (5 + 35.29/60)}, {"ra", "5h35.29m", 15 * (5 + 35.29/60)},
		{"ra", "0", 0}, {"ra", "359.999", 359.999}, {"ra", "23:59:59.99", 15 * (23 + 59/60.0 + 59.99/3600)}, {"ra", "  5:35:17.3\t", orion},
	} {
		got, problem, _ := parseRA(c.text, c.key)
		if problem != "" || math.Abs(got-c.want) > 1e-12*360 {
			t.Errorf("%s %q: %v %s, want %v", c.key, c.text, got, problem, c.want)
		}
	}
}

func TestParseDec(t *testing.T) {
	south := -(5 + 23/60.0 + 28/3600.0)
	for _, c := range []struct {
		key, text string
		want      float64
	}{
		{"dec", `-05°23'28"`, south}, {"dec", "−5 23 28", south}, {"dec", "–5 23 28", south}, {"dec", "-5:23:28", south}, {"dec", "- 5 23 28", south}, {"dec", "-5d23m28s", south},
		{"dec", "−5° 23′ 28″", south}, {"dec", "-5º23’28”", south}, {"dec", "-5°23'28''", south}, {"dec", "-5.391", -5.391}, {"dec_deg", "-5.391", -5.391}, {"dec_deg", "-5.391°", -5.391},
		{"dec_deg", `-05°23'28"`, south},
		{"dec", "-0 30", -0.5}, {"dec", "-00°00'36\"", -0.01}, {"dec", "+41 16 09", 41 + 16/60.0 + 9/3600.0}, {"dec", "90", 90}, {"dec", "-90", -90}, {"dec", "0", 0}, {"dec", "5°", 5},
	} {
		got, problem, _ := parseDec(c.text, c.key)
		if problem != "" || math.Abs(got-c.want) > 1e-12*90 {
			t.Errorf("%s %q: %v %s, want %v", c.key, c.text, got, problem, c.want)
		}
	}
}

func TestAnglesThatAreNone(t *testing.T) {
	for _, c := range []struct{ key, text, want string }{
		{"ra", "", `"" is not an angle; write 5h35m17.3s, 5:35:17.3 or degrees such as 83.822`},
		{"ra", "24:00:00", `the right ascension "24:00:00" is a whole turn or more; write less than 24 h; degrees are a plain number under ra or ra_deg`},
		{"ra", "360", `the right ascension "360" is a whole turn or more; write less than 360 degrees`},
		{"ra", "-5.2", `the right ascension "-5.2" is negative; write it from 0 to 24 h, or from 0 to 360 degrees`},
		{"ra", "5:60:00", `"5:60:00" has 60 minutes, but 60 are the next unit`},
		{"ra", "5:35:61", `"5:35:61" has 61 seconds, but 60 are the next unit`},
		{"ra", "5:35.5:17", `"5:35.5:17" goes on behind its decimals`},
		{"ra", "5:35:17:3", `"5:35:17:3" has more than three fields, or something behind them`},
		{"ra", "5h35m17s9", `"5h35m17s9" has more than three fields, or something behind them`},
		{"ra", "5:35:17,3", `"5:35:17,3" has a decimal comma: the decimal mark is a point`},
		{"ra", "83,822", `"83,822" has a decimal comma: the decimal mark is a point`},
		{"ra", "5:35:", `"5:35:" mixes colons with other marks, or ends in one`},
		{"ra", "NaN", `"NaN" is not an angle`}, {"ra", "1e2", `"1e2" has 'e' where a digit or a unit is expected`}, {"ra", "0x10", `"0x10" has 'x' where a digit or a unit is expected`},
		{"ra", "5 -35", `"5 -35" is not an angle`}, {"ra", "1.2.3", `"1.2.3" is not an angle`}, {"ra", "5.", `"5." is not an angle`}, {"ra", ".5", `".5" is not an angle`},
		{"ra", "1234", `"1234" is not an angle`}, {"ra", strings.Repeat("5", 65), "is too long for an angle"}, {"ra", "East", `"East" is not an angle`},
		{"ra_deg", "5h35m17s", `"5h35m17s" is not in the unit of its key; write degrees such as 83.822, or use the key ra`},
		{"ra_deg", "5:35:17", `"5:35:17" is not in the unit of its key`}, {"ra_h", "83°49'19\"", "is not in the unit of its key"},
		{"ra_h", "83.822", `the right ascension "83.822" is a whole turn or more; write less than 24 h`},
		{"dec", "5h20m", `the declination "5h20m" is in hours; write degrees: -5.391, -5:23:28 or -05°23'28"`},
		{"dec", "-90:00:01", `the declination "-90:00:01" is beyond the pole; write -90 to 90 degrees`}, {"dec", "91", "is beyond the pole"},
		{"dec_deg", "5 20 10", `"5 20 10" is not in the unit of its key; write degrees such as -5.391, or use the key dec`},
		{"dec", "--5", `"--5" is not an angle`}, {"dec", "5N", `"5N" has 'N' where a digit or a unit is expected`}, {"dec", "-", `"-" is not an angle`},
	} {
		parse := parseRA
		if strings.HasPrefix(c.key, "dec") {
			parse = parseDec
		}
		_, problem, remedy := parse(c.text, c.key)
		if got := problem + "; " + remedy; problem == "" || remedy == "" || !strings.Contains(got, c.want) {
			t.Errorf("%s %q: %s\nwant %s", c.key, c.text, got, c.want)
		}
	}
}

// TestAnglesRoundTrip writes angles in every form and reads them back.
func TestAnglesRoundTrip(t *testing.T) {
	seed := int64(20260307)
	t.Logf("seed %d", seed)
	r := rand.New(rand.NewSource(seed))
	for range 5000 {
		tenths := r.Intn(24 * 36000)
		h, m, s := tenths/36000, tenths/600%60, float64(tenths%600)/10
		want := float64(tenths) / 36000 * 15
		for _, form := range []string{"%dh%dm%.1fs", "%02d:%02d:%04.1f", "%02d %02d %04.1f", "%dh %dm %.1f"} {
			text := fmt.Sprintf(form, h, m, s)
			if got, problem, _ := parseRA(text, "ra"); problem != "" || math.Abs(got-want) > 1e-10 {
				t.Fatalf("%q: %v %s, want %v", text, got, problem, want)
			}
		}
		arcsec := r.Intn(90 * 3600)
		want = -float64(arcsec) / 3600
		for _, form := range []string{"-%d°%d'%d\"", "−%02d:%02d:%02d", "-%02d %02d %02d", "-%dd%dm%ds"} {
			text := fmt.Sprintf(form, arcsec/3600, arcsec/60%60, arcsec%60)
			if got, problem, _ := parseDec(text, "dec"); problem != "" || math.Abs(got-want) > 1e-10 {
				t.Fatalf("%q: %v %s, want %v", text, got, problem, want)
			}
		}
	}
}

func FuzzAngle(f *testing.F) {
	for _, s := range []string{"05h35m17.3s", `-05°23'28"`, "−5 23 28", "83.822", "5:35:", "", "\xff°", "0 0 0", "359°59'59.999999999999999\""} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		for _, key := range []string{"ra", "ra_h", "ra_deg"} {
			if x, problem, remedy := parseRA(text, key); problem == "" && !(x >= 0 && x < 360) || (problem == "") != (remedy == "") {
				t.Errorf("%s %q: %v %q %q", key, text, x, problem, remedy)
			}
		}
		for _, key := range []string{"dec", "dec_deg"} {
			if x, problem, remedy := parseDec(text, key); problem == "" && !(x >= -90 && x <= 90) || (problem == "") != (remedy == "") {
				t.Errorf("%s %q: %v %q %q", key, text, x, problem, remedy)
			}
		}
	})
}
