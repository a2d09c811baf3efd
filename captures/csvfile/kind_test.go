package csvfile

import "testing"

func TestSniff(t *testing.T) {
	for text, want := range map[string]Kind{
		"rpm,peak_v\n800,1\n":                         Readings,
		"# a sheet\n\n\"RPM\";Peak_V\n800;1\n":        Readings,
		"rpm\tnoise_v\n0\t0.02\n":                     Readings,
		"rpm,height\n800,1\n":                         Readings,
		"speed,vpp\n800,1\n":                          Readings,
		"engine_speed;volts\n800;1\n":                 Readings,
		"rpm,threshold_v\n0,0.2\n":                    Table,
		"verdict,threshold_mv,rpm,peak_v\nclear,1,2,": Table,
		"time,volts\n0,0.1\n":                         Capture,
		"time_s,rpm,volts\n0,800,0.1\n":               Capture,
		"n,volts\n0,0.1\n":                            Capture,
		"speed,channel 1\n0,0.1\n":                    Capture,
		"0,0.1\n1,0.2\n":                              Capture,
		"":                                            Capture,
		"\x00\x01\x02":                                Capture,
		"RIFF....WAVE":                                Wave,
		"RF64....WAVE":                                Wave,
	} {
		if got := Sniff([]byte(text)); got != want {
			t.Errorf("%q is taken for %s; want %s", text, got, want)
		}
	}
}
