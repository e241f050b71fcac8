// Package stability turns a record of an oscillator's frequency into the
// figures that describe how it warms up and how steady it is afterwards.
package stability
