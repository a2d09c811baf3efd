package browsertest

import (
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// picture is what the browser made of one.
type picture struct {
	ID                    string
	Width, Height         float64 // of the picture
	DrawnWidth, DrawnTall float64 // of what is drawn in it
	Title, Desc           string
	Rows                  int // of the numbers behind it
}

const askPictures = `Array.from(document.querySelectorAll("svg.plot"), (svg) => {
	const box = svg.getBoundingClientRect(), drawn = svg.querySelector(".data").getBBox();
	return {
		ID: svg.parentElement.id, Width: box.width, Height: box.height, DrawnWidth: drawn.width, DrawnTall: drawn.height,
		Title: svg.querySelector("title").textContent, Desc: svg.querySelector("desc").textContent,
		Rows: svg.parentElement.querySelectorAll("tbody tr").length,
	};
})`

// No word on the console, no request but for the page, and every picture there.
func TestPages(t *testing.T) {
	for _, p := range pages(t) {
		t.Run(p.name, func(t *testing.T) {
			b := open(t, p.file, 1280, 900)
			pictures := ask[[]picture](b, askPictures)
			if len(pictures) != p.figures {
				t.Errorf("%d pictures, want %d", len(pictures), p.figures)
			}
			for _, x := range pictures {
				if x.Width < 200 || x.Height < 100 || x.DrawnWidth < 5 || x.DrawnTall < 5 {
					t.Errorf("%s is %v by %v with %v by %v drawn in it", x.ID, x.Width, x.Height, x.DrawnWidth, x.DrawnTall)
				}
				if x.Title == "" || x.Desc == "" || x.Rows == 0 {
					t.Errorf("%s: title %q, description %q, %d rows of numbers", x.ID, x.Title, x.Desc, x.Rows)
				}
			}
			if n := ask[int](b, `document.querySelectorAll("svg:not(:has(> title)), svg:not(:has(> desc))").length`); n != 0 {
				t.Errorf("%d drawings without a title or a description", n)
			}
			if n := ask[int](b, `(() => { const ids = Array.from(document.querySelectorAll("[id]"), (e) => e.id); return ids.length - new Set(ids).size })()`); n != 0 {
				t.Errorf("%d ids are there twice", n)
			}
			b.quiet()
		})
	}
}

// outside lists what reaches beyond the width of the page, or holds more than
// it shows. Drawings clip what lies outside their axes on purpose.
const outside = `(() => {
	for (const d of document.querySelectorAll("details")) d.open = OPEN;
	const width = document.documentElement.clientWidth, found = [];
	if (document.scrollingElement.scrollWidth > width) found.push("the page scrolls sideways: " + document.scrollingElement.scrollWidth);
	for (const e of document.body.querySelectorAll("*")) {
		if (e.closest(".data, defs, clipPath, [hidden]") || !e.checkVisibility()) continue;
		const box = e.getBoundingClientRect();
		if (box.width > 0 && (box.right > width + 1 || box.left < -1)) found.push(e.tagName + " " + e.className + " " + box.left + " to " + box.right + ": " + e.textContent.slice(0, 40));
		if (!(e instanceof SVGElement) && e.scrollWidth > e.clientWidth + 1 && e.clientWidth > 0 && getComputedStyle(e).display !== "inline") found.push(e.tagName + " holds " + e.scrollWidth + " in " + e.clientWidth);
		const plot = e.closest("svg.plot");
		if (plot && e.tagName === "text" && e.getAttribute("visibility") !== "hidden") {
			const frame = plot.getBoundingClientRect();
			if (box.left < frame.left - 1 || box.right > frame.right + 1 || box.top < frame.top - 1 || box.bottom > frame.bottom + 1) found.push("cut off: " + e.textContent);
		}
	}
	return found;
})()`

// On a phone nothing lies beyond the edge, with the numbers folded or not.
func TestNarrow(t *testing.T) {
	for _, p := range pages(t) {
		t.Run(p.name, func(t *testing.T) {
			b := open(t, p.file, 360, 740)
			for _, unfolded := range []string{"false", "true"} {
				if found := ask[[]string](b, strings.Replace(outside, "OPEN", unfolded, 1)); len(found) > 0 {
					t.Errorf("unfolded %s: %s", unfolded, strings.Join(found, "\n"))
				}
			}
		})
	}
}

// On paper nothing is cut off, and what is for the screen alone is not there.
func TestPrint(t *testing.T) {
	const paperWidth = 680 // 180 mm between the margins, at 96 to the inch
	for _, p := range pages(t) {
		t.Run(p.name, func(t *testing.T) {
			b := open(t, p.file, paperWidth, 1000)
			b.media("print")
			for _, unfolded := range []string{"false", "true"} {
				if found := ask[[]string](b, strings.Replace(outside, "OPEN", unfolded, 1)); len(found) > 0 {
					t.Errorf("unfolded %s: %s", unfolded, strings.Join(found, "\n"))
				}
			}
			if n := ask[int](b, `Array.from(document.querySelectorAll("button, .reading")).filter((e) => e.checkVisibility()).length`); n != 0 {
				t.Errorf("%d buttons and read-outs on paper", n)
			}
			pdf := get(b, chromedp.PrintToPDF(chromedp.PDFPreferCSSPageSize()))
			if !regexp.MustCompile(`/MediaBox \[0 0 59[45][.0-9]* 84[12]`).Match(pdf) {
				t.Errorf("%d bytes of PDF, want pages of A4", len(pdf))
			}
		})
	}
}

// The page is complete without its script.
func TestWithoutScript(t *testing.T) {
	for _, p := range pages(t) {
		t.Run(p.name, func(t *testing.T) {
			b := open(t, p.file, 800, 900, func(b *tab) {
				call(b, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
			})
			text := get(b, chromedp.Text("body"))
			tables := ask[int](b, `document.querySelectorAll("table").length`)
			for _, wanted := range []string{"Disable injection and ignition", "Check the base timing before load"} {
				if !strings.Contains(text, wanted) {
					t.Errorf("%q is missing", wanted)
				}
			}
			if len(ask[[]picture](b, askPictures)) != p.figures || tables < p.figures {
				t.Errorf("%d tables, want the numbers of %d pictures", tables, p.figures)
			}
			if strings.Contains(text, "Point at the picture") || strings.Contains(text, "Copy as") {
				t.Error("without the script there is nothing to point at or to press")
			}
		})
	}
}

// In the dark the page is dark, and letters stand out from the ground either
// way.
func TestDarkAndLight(t *testing.T) {
	file := pages(t)[0].file
	for _, scheme := range []string{"light", "dark"} {
		b := open(t, file, 800, 900)
		b.media("", &emulation.MediaFeature{Name: "prefers-color-scheme", Value: scheme})
		for _, selector := range []string{"body", ".aside", ".plot text", ".severity", ".kicker"} {
			inks := ask[[]float64](b, `[getComputedStyle(document.querySelector("`+selector+`")), getComputedStyle(document.documentElement)].flatMap((s, i) => (i ? s.backgroundColor : document.querySelector("`+selector+`") instanceof SVGElement ? s.fill : s.color).match(/[\d.]+/g).slice(0, 3).map(Number))`)
			letters, ground := luminance(inks[:3]), luminance(inks[3:])
			if dark := ground < 0.2; dark != (scheme == "dark") {
				t.Errorf("%s: the ground has a luminance of %.2f", scheme, ground)
			}
			// W3C, Web Content Accessibility Guidelines 2.1, 1.4.3: 4.5 to 1.
			if contrast := (max(letters, ground) + 0.05) / (min(letters, ground) + 0.05); contrast < 4.5 {
				t.Errorf("%s: %s has a contrast of %.1f", scheme, selector, contrast)
			}
		}
	}
}

// luminance is the relative one of sRGB: W3C, Web Content Accessibility
// Guidelines 2.1.
func luminance(rgb []float64) float64 {
	sum := 0.0
	for i, weight := range []float64{0.2126, 0.7152, 0.0722} {
		c := rgb[i] / 255
		if c <= 0.04045 {
			c /= 12.92
		} else {
			c = math.Pow((c+0.055)/1.055, 2.4)
		}
		sum += weight * c
	}
	return sum
}

// A page is small enough for a stick, and the same each time.
func TestSizeAndBytes(t *testing.T) {
	first, second := pages(t), writePages(t, filepath.Join(t.TempDir(), "pages"))
	for i, p := range first {
		a, errA := os.ReadFile(p.file)
		b, errB := os.ReadFile(second[i].file)
		if errA != nil || errB != nil {
			t.Fatal(errA, errB)
		}
		if len(a) > 2<<20 {
			t.Errorf("%s has %d bytes", p.name, len(a))
		}
		if string(a) != string(b) {
			t.Errorf("%s differs from one run to the next", p.name)
		}
	}
}
