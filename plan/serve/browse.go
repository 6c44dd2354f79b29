package serve

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"os/exec"
	"runtime"
)

// Open serves the handler until the context ends: it writes the address to out and opens it in the person's browser,
// unless noBrowser is set. That no browser can be started is told and does no harm: the address works in any. With a file
// the address is kept in it, so that the next start can have it again (NewAgain); "" for none.
func Open(ctx context.Context, out io.Writer, handler http.Handler, noBrowser bool, file string) error {
	var s *Server
	var err error
	if file == "" {
		s, err = New(handler)
	} else {
		s, err = NewAgain(handler, file)
	}
	if err != nil {
		return err
	}
	if err := s.keep(); err != nil {
		fmt.Fprintf(out, "%v\n", err) //nolint:errcheck // what matters is written next
	}
	if _, err := fmt.Fprintf(out, "%s\nCtrl-C ends it.\n", s.Address()); err != nil {
		return err
	}
	if !noBrowser {
		if err := Browse(s.Address()); err != nil {
			fmt.Fprintf(out, "No browser could be started (%v). Open the address above in yours.\n", err) //nolint:errcheck // it was written before
		}
	}
	return s.Run(ctx)
}

// Browse opens an address in the browser that the system has for it, and does not wait.
func Browse(address string) error {
	var cmd *exec.Cmd
	switch runtime.GOOS {
	case "darwin":
		cmd = exec.Command("open", address)
	case "windows":
		cmd = exec.Command("rundll32", "url.dll,FileProtocolHandler", address)
	default:
		cmd = exec.Command("xdg-open", address)
	}
	if err := cmd.Start(); err != nil {
		return err
	}
	go cmd.Wait() //nolint:errcheck // it opens its window or not; the address has been printed
	return nil
}
