package server

import (
	"io"
	"time"

	"github.com/VictoriaMetrics/metrics"
)

// newMetrics makes what /metrics shows. Names begin with tidemark_; nothing in it
// names a person, a sealer or a pouch.
func (s *Server) newMetrics() {
	s.metrics = metrics.NewSet()
	s.commits = s.metrics.NewHistogram("tidemark_commit_seconds")
	s.groups = s.metrics.NewHistogram("tidemark_commit_records")
}

// stored is told of each commit.
func (s *Server) stored(records int, took time.Duration) {
	s.commits.Update(took.Seconds())
	s.groups.Update(float64(records))
}

// writeMetrics writes them all, in the text form that Prometheus made common.
func (s *Server) writeMetrics(w io.Writer) {
	st, n := s.ledger.Status(), s.ledger.Counts()
	gauge := func(name string, v float64) { metrics.WriteGaugeFloat64(w, name, v) }
	count := func(name string, v int64) { metrics.WriteCounterUint64(w, name, uint64(max(v, 0))) }
	yes := func(b bool) float64 {
		if b {
			return 1
		}
		return 0
	}
	gauge("tidemark_records", float64(st.Size))
	gauge("tidemark_ledger_bytes", float64(st.Bytes))
	gauge("tidemark_anchor_behind_records", float64(st.Size-st.Anchored))
	gauge("tidemark_queue_commands", float64(n.Waiting))
	gauge("tidemark_stopped", yes(st.Stopped != nil))
	gauge("tidemark_went_back", yes(st.Back != nil))
	gauge("tidemark_clock_behind_seconds", max(0, st.Latest.Time().Sub(s.Desk.Now()).Seconds()))
	count("tidemark_records_stored_total", n.Records)
	count("tidemark_commands_refused_total", n.Refused)
	count("tidemark_commands_repeated_total", n.Repeated)
	if waiting, parked, err := s.ledger.Messages(); err == nil {
		gauge("tidemark_messages_waiting", float64(waiting))
		gauge("tidemark_messages_parked", float64(parked))
	}
	count("tidemark_scrubs_total", s.care.scrubs.Load())
	count("tidemark_damage_found_total", s.care.damaged.Load())
	count("tidemark_orphans_forgotten_total", s.care.swept.Load())
	gauge("tidemark_last_scrub_timestamp_seconds", float64(s.care.lastScrub.Load()))
	s.metrics.WritePrometheus(w)
	metrics.WriteProcessMetrics(w)
}
