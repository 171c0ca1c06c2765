package server

import (
	"context"
	"errors"
	"time"

	"tidemark/server/demo"
)

// NewDemo opens a data folder for a demo and makes the invented hospital in it,
// or finds the one that was kept there. Clock and Argon of the configuration
// are the demo's own.
func NewDemo(ctx context.Context, c Config) (*Server, demo.Hospital, error) {
	clock := demo.NewClock(time.Now)
	c.Demo, c.Clock, c.Argon = true, clock.Now, demo.Argon
	s, err := New(c)
	if err != nil {
		return nil, demo.Hospital{}, err
	}
	hospital, err := s.hospital(ctx, clock)
	if err == nil {
		err = s.forgetOld(time.Now().Add(-12 * time.Hour))
	}
	if err == nil {
		err = s.pages(hospital.DeviceToken)
	}
	if err != nil {
		return nil, demo.Hospital{}, errors.Join(err, s.Close())
	}
	return s, hospital, nil
}

func (s *Server) hospital(ctx context.Context, clock *demo.Clock) (demo.Hospital, error) {
	if s.Desk.NeedsSetUp() {
		return demo.Build(ctx, s.Desk, clock, time.Now())
	}
	clock.Follow()
	return demo.Reopen(ctx, s.Desk)
}
