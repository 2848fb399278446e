// Package load answers for what weighs and pulls: balance about both axes, the centre of mass and what would tip the rig over, how
// an upright bends, and how far each cable must reach.
//
// It takes the rig as measured: no focuser racked out, the rotator as it stands. A mass that the document does not give counts
// nothing, and every answer that needed it names it. An extreme over poses comes with a proven bound beside the value found
// (see Poses). Lengths are mm, masses kg, forces N, moments N·m, angles radians.
package load
