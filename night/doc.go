// Package night plans a night: when each target can be exposed and on which side, where it must stop, flip and resume, what the
// rig costs it, and a schedule over all of them.
//
// The data goes from a room map and a site (New) by way of the windows that the sky gives and the runs that the rig leaves free,
// to the plan of each target alone, and to one schedule in which every slew is proven. Nothing here calls a pose free: that is
// what package room proves. Angles are radians, hour angles unwrapped as room has them, moments time.Time in the site's zone.
package night
