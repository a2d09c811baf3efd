package browsertest

import (
	"encoding/json"
	"fmt"
	"math"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// result is what these tests read of the program's JSON.
type result struct {
	Sensors []struct {
		Curve struct {
			Samples []map[string]any `json:"samples"`
		} `json:"curve"`
		Rows    []map[string]any `json:"rows"`
		Margins []map[string]any `json:"margins"`
	} `json:"sensors"`
}

// readings are the demo's, as JSON.
func proposed(t *testing.T) result {
	t.Helper()
	var r result
	text := armcurve(t, filepath.Dir(pages(t)[0].file), "propose", "readings.csv", "--format", "json")
	if err := json.Unmarshal([]byte(text), &r); err != nil {
		t.Fatal(err)
	}
	return r
}

// at is the sample at a speed, as it is rounded on the page.
func at(samples []map[string]any, rpm string) map[string]any {
	for _, s := range samples {
		if strconv.FormatFloat(s["rpm"].(float64), 'f', 0, 64) == rpm {
			return s
		}
	}
	return nil
}

// readOut splits "rpm 400 · peak V 1.10" into heads and numbers.
func readOut(text string) map[string]string {
	parts := map[string]string{}
	for part := range strings.SplitSeq(text, " · ") {
		i := strings.LastIndex(part, " ")
		if _, taken := parts[part[:max(i, 0)]]; !taken {
			parts[part[:max(i, 0)]] = part[i+1:]
		}
	}
	return parts
}

// agrees tells whether a number shown is the exact one, rounded either way.
func agrees(shown string, exact any) bool {
	if exact == nil {
		return shown == "–"
	}
	v, err := strconv.ParseFloat(shown, 64)
	_, decimals, _ := strings.Cut(shown, ".")
	return err == nil && math.Abs(v-exact.(float64)) <= math.Pow10(-len(decimals))*1.0001
}

// Pointing at a picture gives the numbers that the JSON has for that speed.
func TestReadOut(t *testing.T) {
	b := open(t, pages(t)[0].file, 1000, 900)
	sensor := proposed(t).Sensors[0]
	for _, x := range []struct {
		figure  string
		samples []map[string]any
		keys    map[string]string
	}{
		{"part1-1-amplitude", sensor.Curve.Samples, map[string]string{"peak V": "peak_v", "at least V": "low_v", "at most V": "high_v", "weakest V": "weakest_v", "noise V": "noise_v"}},
		{"part1-1-margins", sensor.Margins, map[string]string{"signal ×": "signal_margin", "noise ×": "noise_margin", "threshold V": "threshold_v"}},
	} {
		read := map[string]bool{}
		for _, share := range []float64{0.2, 0.35, 0.5, 0.65, 0.8, 0.95} {
			text := b.pointAt(x.figure, share)
			shown := readOut(text)
			sample := at(x.samples, shown["rpm"])
			if sample == nil {
				t.Fatalf("%s at %v: %q is at none of the speeds of the JSON", x.figure, share, text)
			}
			for head, key := range x.keys {
				if !agrees(shown[head], sample[key]) {
					t.Errorf("%s: %q, the JSON has %s %v", x.figure, text, key, sample[key])
				}
			}
			read[shown["rpm"]] = true
		}
		if len(read) != 6 {
			t.Errorf("%s: six places gave %d speeds", x.figure, len(read))
		}
	}
	b.quiet()
}

// pointAt moves the pointer to a share of a picture's width and gives what the
// page then reads off.
func (b *tab) pointAt(figure string, share float64) string {
	b.Helper()
	place := ask[[]float64](b, fmt.Sprintf(`(() => {
		const plot = document.getElementById(%q).querySelector(".plot");
		plot.scrollIntoView({ block: "center" });
		const box = plot.getBoundingClientRect();
		return [box.left + %v * box.width, box.top + box.height / 2];
	})()`, figure, share))
	b.do(chromedp.MouseEvent(input.DispatchMouseEventTypeMouseMoved, place[0], place[1]))
	return ask[string](b, fmt.Sprintf(`document.getElementById(%q).querySelector(".reading").textContent`, figure))
}

// The arrow keys go from one row of the numbers to the next.
func TestArrowKeys(t *testing.T) {
	b := open(t, pages(t)[0].file, 1000, 900)
	b.do(chromedp.Evaluate[chromedp.Void](`document.querySelector(".plot").focus()`))
	var speeds []float64
	for range 4 {
		b.do(chromedp.KeyEvent(kb.ArrowRight))
		v, err := strconv.ParseFloat(readOut(ask[string](b, `document.querySelector(".reading").textContent`))["rpm"], 64)
		if err != nil {
			t.Fatal(err)
		}
		speeds = append(speeds, v)
	}
	for i := 1; i < len(speeds); i++ {
		if speeds[i] <= speeds[i-1] {
			t.Errorf("speeds %v, want rising ones", speeds)
		}
	}
}

// The button copies the table that the JSON has, also where a browser refuses
// the clipboard to scripts.
func TestCopy(t *testing.T) {
	want := "rpm\tthreshold_v\n"
	for _, row := range proposed(t).Sensors[0].Rows {
		want += fmt.Sprintf("%v\t%.2f\n", row["rpm"], row["threshold_v"])
	}
	for _, before := range []string{"true", "navigator.clipboard.writeText = () => Promise.reject()"} {
		b := open(t, pages(t)[0].file, 1000, 900)
		b.do(chromedp.Evaluate[chromedp.Void]("void (" + before + ")"))
		b.do(chromedp.Click(".copy button"))
		b.do(chromedp.WaitVisible(".copy [role=status]:not(:empty)"))
		if said := ask[string](b, `document.querySelector(".copy [role=status]").textContent`); said != "copied" {
			t.Fatalf("the page says %q", said)
		}
		b.do(chromedp.Evaluate[chromedp.Void](`(() => { const area = document.createElement("textarea"); document.body.prepend(area); area.focus() })()`))
		call(b, input.DispatchKeyEvent, input.DispatchKeyEventParams{Type: input.DispatchKeyEventTypeKeyDown, Key: "v", Commands: []string{"paste"}})
		if got := ask[string](b, `document.querySelector("textarea").value`); strings.TrimSpace(got) != strings.TrimSpace(want) {
			t.Errorf("copied %q, want %q", got, want)
		}
		if text := ask[string](b, `document.querySelector(".copy pre").textContent`); text != want {
			t.Errorf("the text to select is %q, want %q", text, want)
		}
		b.quiet()
	}
}

// A name or a note that is markup is text.
func TestInert(t *testing.T) {
	for _, p := range pages(t) {
		if p.name != "odd" {
			continue
		}
		b := open(t, p.file, 1000, 900)
		text := ask[string](b, `document.body.textContent`)
		for _, wanted := range []string{oddName, oddNote} {
			if !strings.Contains(text, wanted) {
				t.Errorf("%q is not on the page as text", wanted)
			}
		}
		if n := ask[int](b, `document.querySelectorAll("img, b, script").length`); n != 1 {
			t.Errorf("%d scripts and elements out of names, want the page's own script alone", n)
		}
		if title := ask[string](b, `document.title`); !strings.HasPrefix(title, "armcurve") {
			t.Errorf("the title became %q", title)
		}
		b.quiet()
	}
}

// The page's policy holds: no script, style, picture or request gets in, even
// if markup did.
func TestPolicy(t *testing.T) {
	b := open(t, pages(t)[0].file, 1000, 900)
	blocked := ask[[]string](b, `new Promise((done) => {
		const seen = [];
		document.addEventListener("securitypolicyviolation", (e) => { seen.push(e.effectiveDirective); if (seen.length === 4) done(seen.sort()) });
		document.body.append(Object.assign(document.createElement("script"), { textContent: "document.title = 'run'" }));
		document.body.append(Object.assign(document.createElement("style"), { textContent: "body { display: none }" }));
		document.body.append(Object.assign(document.createElement("img"), { src: "http://127.0.0.1:9/x.png" }));
		fetch("http://127.0.0.1:9/x").catch(() => {});
		setTimeout(() => done(seen.sort()), 3000);
	})`)
	if got, want := strings.Join(blocked, " "), "connect-src img-src script-src-elem style-src-elem"; got != want {
		t.Errorf("the policy blocked %s, want %s", got, want)
	}
	if ask[string](b, `document.title`) == "run" || ask[string](b, `getComputedStyle(document.body).display`) == "none" {
		t.Error("a script or a style got in")
	}
}

// A wave can be looked at closer, and its numbers read off there.
func TestZoom(t *testing.T) {
	for _, p := range pages(t) {
		if p.name != "waves" {
			continue
		}
		b := open(t, p.file, 1000, 900)
		const figure = "part1-1-worst"
		span := func() float64 {
			first, last := readOut(b.pointAt(figure, 0.1))["t s"], readOut(b.pointAt(figure, 0.95))["t s"]
			from, err := strconv.ParseFloat(first, 64)
			to, errTo := strconv.ParseFloat(last, 64)
			if err != nil || errTo != nil {
				t.Fatalf("read %q and %q", first, last)
			}
			return to - from
		}
		wide := span()
		press := func(name string) {
			b.do(chromedp.Evaluate[chromedp.Void](fmt.Sprintf(`Array.from(document.querySelectorAll("button")).find((b) => b.textContent === %q).click()`, name)))
		}
		press("closer")
		press("closer")
		press("later")
		if close := span(); math.Abs(close/wide-0.25) > 0.02 {
			t.Errorf("twice closer shows %v of %v s", close, wide)
		}
		if n := ask[int](b, `document.querySelectorAll("#`+figure+` .tick.x").length`); n < 3 || n > 14 {
			t.Errorf("%d labels across", n)
		}
		for range 3 {
			press("wider")
		}
		if again := span(); math.Abs(again/wide-1) > 0.01 {
			t.Errorf("wide again shows %v of %v s", again, wide)
		}
		b.quiet()
	}
}
