// Package web serves the pages of a book on loopback. It computes nothing: a
// handler reads a form, calls one function of package workshop and shows what
// comes back.
//
// # How a page is made
//
//   - A page NAME has its handler and its struct in NAME.go, its template in
//     templates/NAME.html. The struct embeds [Page]; the template defines
//     "main" and may use what templates/parts.html defines ("form", "figures",
//     "budget", "sentences", "cautions").
//   - A handler is a func(w, r) error. It ends in s.show(w, r, "NAME", page) or
//     in http.Redirect after a write (303). An error that it returns becomes a
//     page with the right status (problem.go).
//   - Routes stand in routes.go, grouped by page.
//   - A form is data ([Form], [Field]) drawn by one template; it works without
//     scripts, and is shown again with its values and what was wrong (422).
//   - Ids go into addresses by the template function "path", numbers into text
//     by "outcome" and "number", moments by "day" and "moment", pictures by
//     "chart" and "chartLow".
//   - Live parts are custom elements under src/, bundled to assets/ by
//     `make generate`; styles are src/*.css. There are no inline styles or
//     scripts: the content policy forbids them. A bar's length is the width of
//     a rect in an svg.
//   - Every page stands in the gallery of gallery_test.go, which shows each
//     template at least once, holds it free of outside addresses, and is walked
//     by the browser tests.
package web
