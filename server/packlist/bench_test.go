package packlist_test

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"io"
	"runtime"
	"runtime/debug"
	"slices"
	"testing"
	"time"

	"tidemark/server/packlist"
	"tidemark/server/record"
)

// list is a list of so many packs on eight sealers.
func list(packs int) []byte {
	var b bytes.Buffer
	b.WriteString("Pack,Sealer,Sealed,Pouch,Load\n")
	at := time.Date(2026, 1, 5, 6, 0, 0, 0, time.UTC)
	for i := range packs {
		fmt.Fprintf(&b, "P%07d,%d,%s,Paper/film 20 cm,S%d-%04d\n", i, 1+i%8, at.Format("2006-01-02 15:04:05"), 1+i%8, i/40)
		at = at.Add(9 * time.Second)
	}
	return b.Bytes()
}

// BenchmarkList reads 200,000 packs by encoding/csv alone and by Scan, by turns,
// and tells the ratio of the times and what each holds in memory at most.
//
//	go test -run xxx -bench List -benchtime 9x ./server/packlist
func BenchmarkList(b *testing.B) {
	for _, packs := range []int{20_000, 200_000} {
		b.Run(fmt.Sprint(packs), func(b *testing.B) {
			file := list(packs)
			by := packlist.Terms{Zone: newYork, Now: record.Time(1 << 50), Columns: record.PackColumns{Sealer: "Sealer", Date: "Sealed",
				Pouch: "Pouch", Load: "Load", Pack: "Pack", Order: "ymd", Encoding: "utf-8", Separator: ","}}
			var alone, ours, ratios []float64
			for b.Loop() {
				a := timed(func() { readAlone(b, file) })
				o := timed(func() {
					if s, err := packlist.Scan(bytes.NewReader(file), by, nil); err != nil || s.Rows != packs {
						b.Fatal(s, err)
					}
				})
				alone, ours, ratios = append(alone, a), append(ours, o), append(ratios, o/a)
			}
			b.ReportMetric(median(ratios), "times-csv-alone")
			b.ReportMetric(median(alone), "ms-alone")
			b.ReportMetric(median(ours), "ms-scan")
			b.ReportMetric(held(func() { readAlone(b, file) })/1024, "kB-alone")
			b.ReportMetric(held(func() { _, _ = packlist.Scan(bytes.NewReader(file), by, nil) })/1024, "kB-scan")
		})
	}
}

func timed(f func()) (ms float64) {
	start := time.Now()
	f()
	return float64(time.Since(start).Microseconds()) / 1000
}

func median(list []float64) float64 {
	slices.Sort(list)
	return list[len(list)/2]
}

func readAlone(b *testing.B, file []byte) {
	r := csv.NewReader(bytes.NewReader(file))
	r.ReuseRecord = true
	for {
		if _, err := r.Read(); err == io.EOF {
			return
		} else if err != nil {
			b.Fatal(err)
		}
	}
}

// held is how much f adds to the live heap at most, with the collector running
// often.
func held(f func()) float64 {
	defer debug.SetGCPercent(debug.SetGCPercent(5))
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	before, most := m.HeapAlloc, uint64(0)
	stop, done := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(done)
		for {
			runtime.ReadMemStats(&m)
			most = max(most, m.HeapAlloc)
			select {
			case <-stop:
				return
			case <-time.After(200 * time.Microsecond):
			}
		}
	}()
	f()
	close(stop)
	<-done
	return float64(most - min(most, before))
}
