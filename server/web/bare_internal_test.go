package web

import (
	"context"
	"net/http"

	"tidemark/server/desk"
)

// Bare is the route of a check alone, with everything around it (the router, who
// asks, reading the JSON, writing the answer) but a use case that answers at
// once: what a check costs without a store.
func Bare(o Options) (http.Handler, error) {
	return handler(o, func(_ *house, e *router) {
		command(e, "/sealers/:code/checks", func(_ context.Context, _ desk.Caller, in desk.CheckIn) (desk.Done, error) {
			return desk.Done{ID: in.ID, Seq: 1204, Count: 1, At: "2026-01-13T12:05:00.000Z", Size: 1205}, nil
		})
	})
}
