// Package columnar packs a block of readings into a short string of bytes and
// gets them back bit for bit.
//
// Words: a block is some rows of a table; a column is its values, one a row,
// and, where kept, their text as typed. Each column is packed by itself:
//
//  1. Values become whole numbers. A value that is a decimal fraction of d
//     places (as every instrument shows them) becomes value·10^d, where the
//     division back gives the same bits; this is checked for each value. The
//     few that do not fit, and missing cells (NaN), negative zero and
//     infinities, are kept aside as exceptions with all their 64 bits. A column
//     that is no decimal takes its bit patterns, in the order of the values.
//  2. Whole numbers are replaced by first or second differences where these
//     are smaller: even spacing in time becomes zeros.
//  3. They are packed in groups of 128: the smallest, then what is above it in
//     as few bits as the group needs.
//  4. The bytes are compressed with Zstandard where that makes them shorter.
//
// A block carries a format number and a CRC-32C of itself, so that a damaged
// block is an error and never a wrong reading.
package columnar
