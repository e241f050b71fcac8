// Package browsertest walks the pages in a real browser: what a person does
// with hand and keyboard, whether the pages can be used without eyes (axe), and
// whether they fit a phone. Its tests have the build tag "browser" and are run
// by `make browser`. With SETWRIGHT_SHOTS=DIR it leaves pictures of all pages
// there, wide, narrow and dark, for the eye.
package browsertest
