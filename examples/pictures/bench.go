package main

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"time"

	"github.com/chromedp/chromedp"
)

// bench photographs the workbench with the song open and a track chosen: the bass, moved to the guitars.
func bench(program, song, out string) (err error) {
	cmd := exec.Command(program, "open", song, "--pairs", "4", "--no-browser")
	cmd.Stderr = os.Stderr
	pipe, err := cmd.StdoutPipe()
	if err != nil {
		return err
	}
	if err := cmd.Start(); err != nil {
		return err
	}
	defer func() {
		cmd.Process.Signal(os.Interrupt) //nolint:errcheck // it ends either way
		cmd.Wait()                       //nolint:errcheck // likewise
	}()
	address, err := bufio.NewReader(pipe).ReadString('\n')
	if err != nil {
		return fmt.Errorf("the workbench gives no address: %w", err)
	}
	ctx, stop := chromedp.NewExecAllocator(context.Background(), append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(chromium()), chromedp.NoSandbox, chromedp.DisableGPU)...)
	defer stop()
	ctx, stop = chromedp.NewContext(ctx)
	defer stop()
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(1280, 960), chromedp.Navigate(strings.TrimSpace(address))); err != nil {
		return err
	}
	for _, step := range []string{
		`window.foldout?.store.state?.session?.loads === ""`,
		`window.foldout.act({do: "move", tracks: ["13 Bass DI.wav"], pair: 2}).then(() => true)`,
		`window.foldout.store.state.session.loads === "" && window.foldout.store.state.session.change?.misfits != null`,
		`(document.querySelector('.slipcard[data-file="13 Bass DI.wav"]').click(), true)`,
		`!!document.querySelector(".nearness")`,
		`(document.querySelector("#leaf").scrollTop = 0, true)`,
	} {
		for end := time.Now().Add(5 * time.Minute); ; time.Sleep(200 * time.Millisecond) {
			done, err := chromedp.Run(ctx, chromedp.Evaluate[bool]("(async () => !!("+step+"))()", chromedp.EvalAwaitPromise))
			if err != nil {
				return fmt.Errorf("%s: %w", step, err)
			}
			if done {
				break
			}
			if time.Now().After(end) {
				return fmt.Errorf("the workbench never came to %s", step)
			}
		}
	}
	time.Sleep(6 * time.Second) // until messages have gone
	data, err := chromedp.Run(ctx, chromedp.CaptureScreenshot())
	if err != nil {
		return err
	}
	picture, err := png.Decode(bytes.NewReader(data))
	if err != nil {
		return err
	}
	return save(filepath.Join(out, "workbench.png"), picture, 960)
}
