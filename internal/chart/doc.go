// Package chart draws the pictures of a measurement: the same picture on a
// page, in the printed record and in a file.
//
// A picture starts as data ([measure.Plot], [Timeline]). Laying it out for a
// [Size] gives a [Picture], a display list: shapes and texts with their
// places in px, each with a class (what it is) and a side (whose it is). The
// three backends (SVG, PNG, PDF) only render that list, so that they cannot
// differ in what they show. Colour and stroke of a class stand in one table
// (style.go), from which the style sheet of the SVG is written too.
//
// Words used here:
//
//	frame      the rectangle the data are drawn in
//	scale      how the data of one axis become places in the frame, and what
//	           is written along it
//	tick       a place on an axis with a number at it
//	side       side A or side B of a comparison, or neither
//	ink        what is drawn in the frame already; labels avoid it
//
// What a picture keeps to: every reading is drawn (see [thin] for large
// records); a label stands beside what it names and there is no legend box;
// colour means a side and nothing else, and a side also has a mark of its
// own (A a filled dot, B an open diamond); minus signs are true and numbers
// from 1 000 on are grouped with thin spaces; nothing is ever called "−0".
//
// The drawing is a pure function of its input: no clock, no randomness, all
// coordinates rounded to a tenth of a px, so that an SVG compares byte for byte.
package chart
