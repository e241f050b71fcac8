package web

import (
	"encoding/json"
	"net/http"
	"strconv"

	"setwright/internal/chart"
)

// mostPlaces is how many readings a readout steps through.
const mostPlaces = 4000

// placesDocument tells a chart's readout where the readings are drawn.
type placesDocument struct {
	Sizes  [][2]float64 `json:"sizes"`  // width and height of each drawing
	Places [][]float64  `json:"places"` // x and y in each drawing
	Texts  []string     `json:"texts"`
}

// places gives the readings of one picture of a run for its readout.
func (s *Server) places(w http.ResponseWriter, r *http.Request) error {
	res, err := s.shop.Result(r.Context(), r.PathValue("id"), nil, nil)
	if err != nil {
		return err
	}
	n, err := strconv.Atoi(r.URL.Query().Get("plot"))
	if err != nil || n < 0 || n >= len(res.Analysis.Plots) {
		return notThere("This run has no picture %q.", r.URL.Query().Get("plot"))
	}
	sizes := []chart.Size{chart.Wide, chart.Narrow}
	if n > 0 {
		sizes = []chart.Size{chart.Low, chart.LowNarrow}
	}
	return writePlaces(w, chart.Places(res.Analysis.Plots[n], mostPlaces, sizes...), sizes)
}

// writePlaces writes places as the readout reads them.
func writePlaces(w http.ResponseWriter, places []chart.Place, sizes []chart.Size) error {
	doc := placesDocument{Places: [][]float64{}, Texts: []string{}}
	for _, size := range sizes {
		doc.Sizes = append(doc.Sizes, [2]float64{size.Width, size.Height})
	}
	for _, pl := range places {
		var at []float64
		for _, q := range pl.At {
			at = append(at, q.X, q.Y)
		}
		doc.Places, doc.Texts = append(doc.Places, at), append(doc.Texts, pl.Text)
	}
	w.Header().Set("Content-Type", "application/json; charset=utf-8")
	return json.NewEncoder(w).Encode(doc)
}
