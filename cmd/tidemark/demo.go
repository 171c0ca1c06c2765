package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"os"

	"tidemark/labels"
	"tidemark/server"
	"tidemark/server/demo"
	"tidemark/server/fault"
)

type demoCmd struct {
	Addr string `default:"127.0.0.1:8080" help:"Address to listen on; loopback only: the PINs are printed."`
	Data string `help:"Folder to keep the demo in; a temporary one if not given."`
	SMTP string `name:"smtp" help:"Way to a mail server on this machine; without one mails are kept on a page."`
	JSON bool   `name:"json" help:"Print one line of JSON once it listens, and nothing else."`
}

// Run serves an invented hospital.
func (c *demoCmd) Run() (err error) {
	l, err := listen(c.Addr)
	if err != nil {
		return err
	}
	if !l.Addr().(*net.TCPAddr).IP.IsLoopback() {
		return errors.Join(fault.New(fault.Forbidden, "a demo prints its PINs: it listens on a loopback address only, such as 127.0.0.1:8080"), l.Close())
	}
	dir := c.Data
	if dir == "" {
		if dir, err = os.MkdirTemp("", "tidemark-demo-"); err != nil {
			return errors.Join(err, l.Close())
		}
		defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	}
	address := "http://" + l.Addr().String()
	s, hospital, err := server.NewDemo(context.Background(), server.Config{Dir: dir, PublicURL: address, Mail: c.SMTP,
		Log: slog.New(slog.NewTextHandler(os.Stderr, &slog.HandlerOptions{Level: slog.LevelWarn}))})
	if err != nil {
		return errors.Join(err, l.Close())
	}
	if c.JSON {
		err = printJSON(address, hospital)
	} else {
		err = printDemo(address, hospital)
	}
	if err != nil {
		return errors.Join(err, l.Close(), s.Close())
	}
	return serveOn(s, l)
}

// printJSON prints the line that scripts read.
func printJSON(address string, h demo.Hospital) error {
	type person struct {
		Name string `json:"name"`
		Role string `json:"role"`
		PIN  string `json:"pin"`
	}
	type sealer struct {
		Code string `json:"code"`
		URL  string `json:"url"`
	}
	out := struct {
		Address string   `json:"address"`
		People  []person `json:"people"`
		Sealers []sealer `json:"sealers"`
	}{Address: address}
	for _, p := range h.People {
		out.People = append(out.People, person{p.Name, string(p.Role), p.PIN})
	}
	for _, s := range h.Sealers {
		out.Sealers = append(out.Sealers, sealer{s.Code, address + s.Path})
	}
	return json.NewEncoder(os.Stdout).Encode(out)
}

// printDemo prints where to go, who is there and the label of one sealer.
func printDemo(address string, h demo.Hospital) error {
	fmt.Printf("%s, invented. Open %s and sign in as one of:\n\n", h.Name, address)
	for _, p := range h.People {
		fmt.Printf("  %-22s %-14s PIN %s\n", p.Name, p.Role, p.PIN)
	}
	fmt.Printf("\nSealers:\n\n")
	for _, s := range h.Sealers {
		fmt.Printf("  %-3s %s%s\n", s.Number, address, s.Path)
	}
	url, err := labels.URL(address, labels.Code(h.Sealers[0].Code))
	if err != nil {
		return err
	}
	code, err := labels.Terminal(url)
	if err != nil {
		return err
	}
	fmt.Printf("\nThe label of sealer %s:\n\n%s\nStop with Ctrl-C.\n", h.Sealers[0].Number, code)
	return nil
}
