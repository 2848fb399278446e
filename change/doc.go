// Package change answers what a change of the rig would bring: variants of a document side by side, and the solver, which
// looks for the least change that meets an aim.
//
// The data goes from Variant (edits of a document) by way of Measure (room, idle time, gaps and load of one rig) to Compare. Solve
// bounds what every rig in a box of lengths can have at most, so that its answer comes with how far the best may be from it. Angles
// are radians and lengths millimetres, but the solver's variables are in the document's units. What an answer calls free is what
// package room has proven of the changed document; the bounds of a box never make anything free.
package change
