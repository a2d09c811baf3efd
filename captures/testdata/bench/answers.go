package main

import (
	"encoding/json"
	"fmt"
	"math"
)

// reading is what was measured about one speed, as both write it.
type reading struct {
	RPM     float64 `json:"rpm"`
	PeakV   float64 `json:"peak_v"`
	Weakest float64 `json:"weakest_v"`
	NoiseV  float64 `json:"noise_rms_v"`
	Sensor  string  `json:"sensor"`
}

// answer is what is compared.
type answer struct {
	teeth           int
	lowRPM, highRPM float64
	readings        []reading
}

func armcurveAnswer(out []byte) (answer, error) {
	var said struct {
		Captures []struct {
			Teeth int `json:"teeth_seen"`
		} `json:"captures"`
		Readings []reading `json:"readings"`
	}
	if err := json.Unmarshal(out, &said); err != nil {
		return answer{}, err
	}
	a := answer{lowRPM: math.Inf(1), readings: said.Readings}
	for _, c := range said.Captures {
		a.teeth += c.Teeth
	}
	for _, r := range said.Readings {
		a.lowRPM, a.highRPM = min(a.lowRPM, r.RPM), max(a.highRPM, r.RPM)
	}
	return a, nil
}

func scriptAnswer(out []byte) (answer, error) {
	var said struct {
		Teeth    int       `json:"teeth"`
		LowRPM   float64   `json:"low_rpm"`
		HighRPM  float64   `json:"high_rpm"`
		Readings []reading `json:"by_speed"`
	}
	err := json.Unmarshal(out, &said)
	return answer{said.Teeth, said.LowRPM, said.HighRPM, said.Readings}, err
}

// at is what was measured about a speed, straight between the readings beside
// it; they are in order of speed.
func (a answer) at(rpm float64) reading {
	for i := 1; i < len(a.readings); i++ {
		before, after := a.readings[i-1], a.readings[i]
		if rpm < before.RPM || rpm > after.RPM {
			continue
		}
		share := (rpm - before.RPM) / (after.RPM - before.RPM)
		between := func(x, y float64) float64 { return x + share*(y-x) }
		return reading{RPM: rpm, PeakV: between(before.PeakV, after.PeakV), Weakest: between(before.Weakest, after.Weakest), NoiseV: between(before.NoiseV, after.NoiseV)}
	}
	return reading{RPM: rpm, PeakV: math.NaN(), Weakest: math.NaN(), NoiseV: math.NaN()}
}

// printAnswers sets what both said side by side.
func printAnswers(armcurve, script []byte) error {
	a, err := armcurveAnswer(armcurve)
	if err != nil {
		return err
	}
	b, err := scriptAnswer(script)
	if err != nil {
		return err
	}
	fmt.Printf("  %-22s  %14s  %14s\n", "what they found", "armcurve", "the script")
	fmt.Printf("  %-22s  %14d  %14d\n", "teeth", a.teeth, b.teeth)
	fmt.Printf("  %-22s  %14s  %14s\n", "rpm of readings, turns", fmt.Sprintf("%.0f to %.0f", a.lowRPM, a.highRPM), fmt.Sprintf("%.0f to %.0f", b.lowRPM, b.highRPM))
	for _, rpm := range []float64{1000, 2000, 4000, 6000} {
		x, y := a.at(rpm), b.at(rpm)
		if math.IsNaN(x.PeakV) && math.IsNaN(y.PeakV) {
			continue // a short capture did not come there
		}
		fmt.Printf("  %-22s  %14.3f  %14.3f\n", fmt.Sprintf("peak at %.0f rpm, V", rpm), x.PeakV, y.PeakV)
		fmt.Printf("  %-22s  %14.3f  %14.3f\n", "  weakest tooth, V", x.Weakest, y.Weakest)
		fmt.Printf("  %-22s  %14.4f  %14.4f\n", "  noise rms, V", x.NoiseV, y.NoiseV)
	}
	return nil
}
