package main

import (
	"fmt"
	"net"
	"os"
	"os/exec"
	"os/signal"
	"runtime"
	"strings"
	"syscall"

	"github.com/spf13/cobra"

	"legroom/report"
	"legroom/web"
)

func newServe() *cobra.Command {
	var s serving
	var f format
	c := &cobra.Command{
		Use:   "serve FOLDER",
		Short: "The page: see the rigs of a folder, turn them, change their lengths, look at their sky",
		Long: `Serves the page for the rigs of a folder and opens it in the browser. Nothing but this machine can open it, unless
--listen names another of its addresses: then the terminal shows a one-time key, as an address and as a square code for a
phone's camera. Ctrl-C ends it.`,
		Example: "  legroom serve .\n  legroom serve rigs --listen 192.168.1.20:7433",
		Args: func(c *cobra.Command, args []string) error {
			switch {
			case len(args) == 0:
				return fmt.Errorf("serve: no folder given; name the one that your rigs are in, such as `legroom serve .`")
			case len(args) > 1:
				return fmt.Errorf("serve: one folder at a time, but there are %d: %s", len(args), strings.Join(args, ", "))
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			if err := f.check(); err != nil {
				return err
			}
			switch info, err := os.Stat(args[0]); {
			case err != nil:
				return fmt.Errorf("serve: there is no folder %q; name the one that your rigs are in", args[0])
			case !info.IsDir():
				return fmt.Errorf("serve: %q is a file; name the folder that it is in", args[0])
			}
			return s.run(c, &f, args[0], false)
		},
	}
	s.flags(c)
	f.flag(c, "text", "json")
	return c
}

// serving is how the page is served.
type serving struct {
	listen    string
	noBrowser bool
}

func (s *serving) flags(c *cobra.Command) {
	c.Flags().StringVar(&s.listen, "listen", "127.0.0.1:7433", "the address of this machine to listen on, and the port; port 0 takes any that is free")
	c.Flags().BoolVar(&s.noBrowser, "no-browser", false, "don't open the browser")
}

// run serves a folder until the command is interrupted or told to end.
func (s *serving) run(c *cobra.Command, f *format, folder string, demo bool) error {
	host, _, err := net.SplitHostPort(s.listen)
	if err != nil {
		return fmt.Errorf("%s: --listen %q: give an address and a port, such as 127.0.0.1:7433", c.Name(), s.listen)
	}
	if ip := net.ParseIP(host); host == "" || ip != nil && ip.IsUnspecified() {
		return fmt.Errorf("%s: --listen %q: give one address of this machine, such as 192.168.1.20:7433, since the page answers for that alone", c.Name(), s.listen)
	}
	ctx, stop := signal.NotifyContext(c.Context(), syscall.SIGTERM)
	defer stop()
	l, err := (&net.ListenConfig{}).Listen(ctx, "tcp", s.listen)
	if err != nil {
		return fmt.Errorf("%s: --listen %q: %w; another program may have it: end that, or give another port", c.Name(), s.listen, err)
	}
	defer l.Close()
	_, port, err := net.SplitHostPort(l.Addr().String())
	if err != nil {
		return err
	}
	o := web.Options{Folder: folder, Page: web.Page(), Listen: net.JoinHostPort(host, port), Demo: demo}
	if !web.Loopback(o.Listen) {
		o.Key = web.NewKey()
	}
	h, err := web.New(ctx, o)
	if err != nil {
		return err
	}
	if err := announce(c, f, o); err != nil {
		return err
	}
	if o.Key == nil && !s.noBrowser {
		if err := openBrowser("http://" + o.Listen + "/"); err != nil {
			fmt.Fprintln(c.ErrOrStderr(), "No browser could be opened: open the address yourself.")
		}
	}
	return web.Serve(ctx, l, h)
}

// announce says where the page is, and how to open it from another machine.
func announce(c *cobra.Command, f *format, o web.Options) error {
	out := c.OutOrStdout()
	doc := report.ServeDoc{ListeningOn: "http://" + o.Listen + "/"}
	if o.Key != nil {
		doc.OpenWith = o.Key.URL(o.Listen)
	}
	if f.name == "json" {
		return report.WriteLine(out, doc)
	}
	fmt.Fprintf(out, "listening on %s\n", doc.ListeningOn)
	if o.Key == nil {
		return nil
	}
	square, err := web.Square(doc.OpenWith)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(out, "\n%s\nPoint a phone's camera at this, or open %s\nIt works once, for one browser. What goes over the air is not encrypted: do this in your own network alone.\n", square, doc.OpenWith)
	return err
}

// browserCommand is how the desktop's own browser is asked to open an address.
func browserCommand(url string) []string {
	switch runtime.GOOS {
	case "darwin":
		return []string{"open", url}
	case "windows":
		return []string{"rundll32", "url.dll,FileProtocolHandler", url}
	}
	return []string{"xdg-open", url}
}

// openBrowser opens an address in the desktop's own browser.
func openBrowser(url string) error {
	args := browserCommand(url)
	cmd := exec.Command(args[0], args[1:]...)
	if err := cmd.Start(); err != nil {
		return err
	}
	go func() { _ = cmd.Wait() }() // it outlives us or not, as it likes
	return nil
}
