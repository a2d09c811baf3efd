package browsertest

import (
	"context"
	"fmt"
	"log"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	logged "github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// browser is the one that all tests share, each in a tab of its own; nil where
// none was found.
var browser context.Context

// program is armcurve, built for the tests.
var program string

func TestMain(m *testing.M) {
	dir, err := os.MkdirTemp("", "browsertest-*")
	if err != nil {
		log.Fatal(err)
	}
	program = filepath.Join(dir, "armcurve")
	build := exec.Command("go", "build", "-o", program, "./cmd/armcurve")
	build.Dir = filepath.Join("..", "..") // its own module
	if text, err := build.CombinedOutput(); err != nil {
		log.Fatalf("%v: %s", err, text)
	}
	stop := start(dir)
	code := m.Run()
	stop()
	os.RemoveAll(dir)
	os.Exit(code)
}

// start starts the browser with an empty profile.
func start(dir string) (stop func()) {
	name := find()
	if name == "" {
		return func() {}
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(name), chromedp.UserDataDir(filepath.Join(dir, "profile")), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-component-update", true),
	)
	allocator, stopAllocator := chromedp.NewExecAllocator(context.Background(), options...)
	var stopBrowser context.CancelFunc
	browser, stopBrowser = chromedp.NewContext(allocator)
	if err := chromedp.Do(browser); err != nil {
		log.Fatalf("%s: %v", name, err)
	}
	return func() { stopBrowser(); stopAllocator() }
}

func find() string {
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome", "chrome"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	return ""
}

// tab is a page open in the browser and what it complained about.
type tab struct {
	*testing.T
	ctx context.Context

	mu       sync.Mutex
	console  []string
	requests []string
}

// open opens a page in a new tab, as wide and high as asked for, after what is
// to be done before. Without a browser the test is skipped, but never where CI
// runs it.
func open(t *testing.T, file string, width, height int64, before ...func(*tab)) *tab {
	t.Helper()
	if browser == nil {
		const missing = "no browser found: install chromium to test the pages"
		if os.Getenv("CI") == "true" {
			t.Fatal(missing)
		}
		t.Skip(missing)
	}
	ctx, stop := chromedp.NewContext(browser)
	t.Cleanup(stop)
	b := &tab{T: t, ctx: ctx}
	b.try(chromedp.Listen(ctx, b.note))
	call(b, network.Enable, network.EnableParams{})
	call(b, logged.Enable, cdp.Empty{})
	b.do(chromedp.EmulateViewport(width, height))
	for _, f := range before {
		f(b)
	}
	b.do(chromedp.Navigate((&url.URL{Scheme: "file", Path: file}).String()))
	return b
}

func (b *tab) note(event any) {
	b.mu.Lock()
	defer b.mu.Unlock()
	switch e := event.(type) {
	case *runtime.EventExceptionThrown:
		b.console = append(b.console, fmt.Sprint(*e.ExceptionDetails))
	case *runtime.EventConsoleAPICalled:
		b.console = append(b.console, fmt.Sprint(e.Type, " ", len(e.Args)))
	case *logged.EventEntryAdded:
		b.console = append(b.console, e.Entry.Text)
	case *network.EventRequestWillBeSent:
		b.requests = append(b.requests, e.Request.URL)
	}
}

func (b *tab) try(err error) {
	b.Helper()
	if err != nil {
		b.Fatal(err)
	}
}

// limited is the tab for one action that has to end soon.
func (b *tab) limited() (context.Context, context.CancelFunc) {
	return context.WithTimeout(b.ctx, time.Minute)
}

func (b *tab) do(actions ...chromedp.Action[chromedp.Void]) {
	b.Helper()
	ctx, stop := b.limited()
	defer stop()
	b.try(chromedp.Do(ctx, actions...))
}

// get is the value of an action.
func get[T any](b *tab, action chromedp.Action[T]) T {
	b.Helper()
	ctx, stop := b.limited()
	defer stop()
	v, err := chromedp.Run(ctx, action)
	b.try(err)
	return v
}

// call sends a command of the protocol.
func call[P, R any](b *tab, command cdp.Command[P, R], params P) {
	b.Helper()
	ctx, stop := b.limited()
	defer stop()
	_, err := chromedp.Call(ctx, command, params)
	b.try(err)
}

// ask evaluates an expression in the page, as if a person had pressed a key.
func ask[T any](b *tab, expression string) T {
	b.Helper()
	return get(b, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise, func(p *runtime.EvaluateParams) { p.UserGesture = new(true) }))
}

// media has the page drawn for print, or in a colour scheme.
func (b *tab) media(kind string, features ...*emulation.MediaFeature) {
	b.Helper()
	call(b, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: kind, Features: features})
}

// quiet fails if the page said anything on the console or asked for anything
// but itself.
func (b *tab) quiet() {
	b.Helper()
	b.mu.Lock()
	defer b.mu.Unlock()
	if len(b.console) > 0 {
		b.Errorf("on the console: %s", strings.Join(b.console, "\n"))
	}
	if len(b.requests) != 1 {
		b.Errorf("requests %q, want one for the page itself", b.requests)
	}
}

// armcurve runs the program in a folder; exit code 1 is a verdict.
func armcurve(t *testing.T, dir string, args ...string) string {
	t.Helper()
	cmd := exec.Command(program, args...)
	cmd.Dir = dir
	out, err := cmd.Output()
	if exit, ok := err.(*exec.ExitError); err != nil && (!ok || exit.ExitCode() != 1) {
		t.Fatalf("armcurve %s: %v", strings.Join(args, " "), err)
	}
	return string(out)
}
