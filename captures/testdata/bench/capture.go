package main

import (
	"bufio"
	"encoding/binary"
	"errors"
	"io"
	"math"
	"os"

	"armcurve/captures"
	"armcurve/captures/simulate"
)

const (
	wheel         = "36-1"
	sampleHz      = 125e3
	fullScaleV    = 50 // of the WAV
	fullScaleText = "50"
)

// engine is an invented engine with a crank and a cam sensor that is pulled up
// and let fall again and again, so that a longer capture shows more of the same.
func engine(rows int) (simulate.Rig, error) {
	const lowRPM, highRPM, halfS = 800, 7000, 40
	crankWheel, err := captures.ParseWheel(wheel)
	if err != nil {
		return simulate.Rig{}, err
	}
	camWheel, err := captures.ParseWheel("@60,240,480")
	if err != nil {
		return simulate.Rig{}, err
	}
	rig := simulate.Rig{
		Name: "bench", Seed: 21, SampleHz: sampleHz, LengthS: float64(rows) / sampleHz, StartDeg: 33,
		Ripple: simulate.Ripple{Share: 0.35, AtRPM: 200, Cylinders: 4},
		Sensors: []simulate.Sensor{
			{
				Name: captures.Crank, Wheel: crankWheel, DiameterMM: 150, GapMM: 1, LinkageVS: 3e-3,
				Coil:  simulate.Coil{ResistanceOhm: 850, InductanceH: 0.4, LoadOhm: 15e3},
				Noise: []simulate.Noise{{SigmaV: 0.04, RateHz: 9000}},
			},
			{
				Name: captures.Cam, Wheel: camWheel, OnCam: true, DiameterMM: 60, ToothMM: 6, GapMM: 0.8, LinkageVS: 16e-3,
				Coil:  simulate.Coil{ResistanceOhm: 900, InductanceH: 0.35, LoadOhm: 15e3},
				Noise: []simulate.Noise{{SigmaV: 0.03, RateHz: 8000}},
			},
		},
	}
	for i, rpm := 0, float64(lowRPM); float64(i-1)*halfS < rig.LengthS; i++ {
		rig.Speed = append(rig.Speed, simulate.Point{AtS: float64(i) * halfS, RPM: rpm})
		rpm = lowRPM + highRPM - rpm
	}
	return rig, nil
}

// writeCSV writes three columns: time, crank and cam.
func writeCSV(name string, rows int) error {
	rig, err := engine(rows)
	if err != nil {
		return err
	}
	return write(name, rig, simulate.WriteCSV)
}

// writeWAV writes the crank's channel in 16 bits.
func writeWAV(name string, rows int) error {
	rig, err := engine(rows)
	if err != nil {
		return err
	}
	rig.Sensors = rig.Sensors[:1]
	return write(name, rig, func(w io.Writer, s *simulate.Source) error {
		header := binary.LittleEndian.AppendUint32([]byte("RIFF"), uint32(36+2*rows))
		header = append(header, "WAVEfmt \x10\x00\x00\x00\x01\x00\x01\x00"...) // PCM, one channel
		header = binary.LittleEndian.AppendUint32(header, sampleHz)
		header = binary.LittleEndian.AppendUint32(header, 2*sampleHz)
		header = append(header, "\x02\x00\x10\x00data"...)
		header = binary.LittleEndian.AppendUint32(header, uint32(2*rows))
		if _, err := w.Write(header); err != nil {
			return err
		}
		return writePCM(w, s)
	})
}

func writePCM(w io.Writer, s *simulate.Source) error {
	var block captures.Block
	var raw []byte
	for {
		err := s.Next(&block)
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		raw = raw[:0]
		for _, v := range block.V[0] {
			raw = binary.LittleEndian.AppendUint16(raw, uint16(int16(math.Round(v/fullScaleV*(1<<15)))))
		}
		if _, err := w.Write(raw); err != nil {
			return err
		}
	}
}

// write writes the capture of a rig into a file.
func write(name string, rig simulate.Rig, how func(io.Writer, *simulate.Source) error) error {
	source, err := simulate.Open(rig)
	if err != nil {
		return err
	}
	f, err := os.Create(name)
	if err != nil {
		return err
	}
	w := bufio.NewWriter(f)
	return errors.Join(how(w, source), w.Flush(), f.Close())
}
