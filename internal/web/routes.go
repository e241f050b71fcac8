package web

import "net/http"

// routes is the table of addresses.
func (s *Server) routes() {
	handle := func(pattern string, h func(http.ResponseWriter, *http.Request) error) {
		s.mux.HandleFunc(pattern, s.do(h))
	}
	handle("GET /assets/{name}", s.assets.serve)
	handle("/", func(_ http.ResponseWriter, r *http.Request) error {
		return notThere("Nothing is kept at %s.", r.URL.Path)
	})

	handle("GET /jobs/{id}", s.showJob)
	handle("POST /jobs/{id}/stop", s.stopJob)

	form := func(get, post string, e entry) {
		handle("GET "+get, s.ask(e))
		handle("POST "+post, s.take(e))
	}
	handle("GET /{$}", s.shelf)
	form("/sets/new", "/sets", s.newSet)
	handle("GET /sets/{set}", s.set)
	form("/sets/{set}/edit", "/sets/{set}", s.editSet)
	handle("POST /sets/{set}/back", s.putBack)
	for path, e := range map[string]entry{
		"configurations/new": s.newConfiguration, "configurations/edit": s.editConfiguration,
		"states/new": s.newState, "states/edit": s.editState,
		"modifications/new": s.newModification, "modifications/edit": s.editModification,
		"claims/new": s.newClaim,
	} {
		form("/sets/{set}/"+path, "/sets/{set}/"+path, e)
	}
	handle("POST /sets/{set}/claims/drop", s.dropClaim)
	form("/instruments/new", "/instruments", s.newInstrument)
	handle("GET /instruments", s.instruments)
	handle("GET /instruments/sound", s.calibrateForm)
	handle("POST /instruments/sound", s.calibrate)
	handle("GET /words", s.words)

	handle("GET /runs/{id}", s.run)
	handle("GET /runs/{id}/raw", s.raw)
	handle("GET /runs/{id}/places.json", s.places)
	handle("GET /runs/{id}/readings.csv", s.readingsTable)
	handle("GET /runs/{id}/figures.json", s.figuresDocument)
	handle("POST /runs/{id}/amend", s.amend)
	handle("POST /runs/{id}/notes", s.runNotes)
	handle("POST /runs/{id}/hide", s.hideRun)
	handle("POST /runs/{id}/show", s.unhideRun)

	handle("GET /import", s.importForm)
	handle("POST /import", s.importFile)
	handle("GET /import/preview", s.previewFirst)
	handle("POST /import/preview", s.previewAgain)
	handle("POST /import/store", s.storeImport)
	handle("POST /import/drop", s.dropImport)
	handle("POST /import/sound", s.storeSound)

	handle("GET /type", s.typeForm)
	handle("POST /type", s.startTyping)
	handle("GET /type/{run}", s.typing)
	handle("POST /type/{run}/reading", s.typeReading)
	handle("POST /type/{run}/strike", s.strikeLast)
	handle("POST /type/{run}/finish", s.finishTyping)
	s.judgingRoutes(handle)
	s.soundRoutes(handle)
	s.listenRoutes(handle)
}
