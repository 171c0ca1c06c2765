package main

type demoCmd struct {
	Addr string `default:"127.0.0.1:8080" help:"Address to listen on; loopback only."`
	Data string `help:"Folder to keep the demo in; a temporary one if not given."`
	JSON bool   `name:"json" help:"Print one line of JSON once it listens."`
}

// Run serves an invented hospital.
func (c *demoCmd) Run() error { return nil }
