package form

import (
	"math"
	"testing"
)

func TestAWG(t *testing.T) {
	// ASTM B258.
	for n, mm := range map[int]float64{12: 2.0525, 14: 1.6277, 16: 1.2908, 18: 1.0237, 20: 0.8118, 22: 0.6438} {
		if math.Abs(AWG(n)-mm) > 5e-5 {
			t.Errorf("AWG %d is %.4f mm, want %.4f", n, AWG(n), mm)
		}
	}
}

func TestThickerWireForLargerPieces(t *testing.T) {
	// Common practice: under 15 cm 20 to 22 AWG, medium 16 to 18, large 12 to 14.
	last := 30
	for mm := 20.0; mm < 1000; mm += 10 {
		n := gauge(mm)
		if n > last || mm < 150 && n < 20 || mm >= 450 && n > 14 {
			t.Errorf("AWG %d for %v mm", n, mm)
		}
		last = n
	}
}

func TestAPairOfLegsIsOneWire(t *testing.T) {
	got, err := Armature(ArmatureRequest{HeightMM: 180, Limbs: []WireLimb{{"foreleg", 60, 2, 40}, {"spine", 120, 1, 0}, {"ear", 15, 2, 0}}})
	if err != nil {
		t.Fatal(err)
	}
	// 54 mm in each leg and 40 between: 148, a seventh and a bit more for the twist and 16 for the ends.
	if w := got.Wires[0]; w.Count != 1 || w.InsideMM != 54 || w.CutMM != math.Ceil(148*1.15+16) {
		t.Errorf("%+v", w)
	}
	if len(got.Wires) != 2 || len(got.Notes) != 2 || got.Notes[1].Code != NoteTooShort || got.GaugeAWG != 18 {
		t.Errorf("%+v", got)
	}
	if got.TotalMM != got.Wires[0].CutMM+got.Wires[1].CutMM {
		t.Errorf("in all %v", got.TotalMM)
	}
	for _, bad := range []ArmatureRequest{{}, {HeightMM: 100, Limbs: []WireLimb{{"leg", 0, 1, 0}}}, {HeightMM: 100, Limbs: []WireLimb{{"leg", 10, 0, 0}}}, {HeightMM: 100, Limbs: []WireLimb{{"", 10, 1, 0}}}} {
		if _, err := Armature(bad); err == nil {
			t.Errorf("%+v was taken", bad)
		}
	}
}
