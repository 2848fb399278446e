// Package proof lets a ruler say whether a rig's document is true.
//
// NewWalk chooses a few poses to drive to by day, each with two points to measure between, that together tell most about the
// uncertain lengths. A Sheet holds what the ruler said there. Fit corrects the lengths by it, names a reading that does not go with the
// others, and refuses a model that the ruler contradicts; Correct writes the corrected lengths into the document.
//
// A length's tolerance is taken as the half-width that holds 95 of 100, of a normal distribution about the document's value; so is
// that of a reading. Lengths are millimetres, angles degrees in quantities and radians elsewhere.
package proof
