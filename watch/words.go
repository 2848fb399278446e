package watch

// Rung is how far the ladder has been climbed.
type Rung string

const (
	Watching Rung = "watching" // nothing to do
	Warned   Rung = "warned"   // a stop is due within the owner's minutes
	Stopping Rung = "stopping" // the stop is sent, and sent again, until the axes are seen to stand still
	Stopped  Rung = "stopped"  // they stand still
	Hooked   Rung = "hooked"   // the mount did not obey: the owner's hook was called, and the stop is still being sent
)

// Reason is one way of being blind: what is read does not tell where the parts are.
type Reason string

const (
	BlindLink        Reason = "link"        // no connection, or no answer in time
	BlindAnswer      Reason = "answer"      // an answer that cannot be used
	BlindOld         Reason = "old"         // the last usable reading is older than three periods
	BlindFrozen      Reason = "frozen"      // the mount's own clock does not advance
	BlindClock       Reason = "clock"       // the mount's time or sidereal time disagrees with this computer's and the site's
	BlindSite        Reason = "site"        // the mount is set to another site than the rig's
	BlindPlace       Reason = "place"       // the place is no place, or out of the travel of the axes
	BlindEquinox     Reason = "equinox"     // what the coordinates refer to is not known
	BlindSide        Reason = "side"        // the side that is told cannot be
	BlindJump        Reason = "jump"        // the place jumped by more than a degree, or by little so often
	BlindReference   Reason = "reference"   // nobody has looked whether the rig stands as the mount says
	BlindSetup       Reason = "setup"       // the set-up is not confirmed for tonight
	BlindFingerprint Reason = "fingerprint" // the rig document is no longer the one that is watched
)

// SideHow says what the side is known by.
type SideHow string

const (
	ByOwner  SideHow = "confirmed" // the owner looked
	ByPath   SideHow = "followed"  // from one reading to the next since then, no other side was within reach
	ByMount  SideHow = "told"      // the mount says so, and that is all
	ByNobody SideHow = "unknown"   // both sides have to be free
)

// Motion is what the axes do, as read and as seen.
type Motion string

const (
	Still    Motion = "still"    // seen not to move, and not said to
	Tracks   Motion = "tracking" // or possibly so
	Moves    Motion = "moving"   // a slew, or a motion by hand
	NotKnown Motion = "unknown"  // no usable reading
)

// Cause is why a stop was sent.
type Cause string

const (
	NoCause   Cause = ""
	ByGap     Cause = "gap"    // the proven gap is down to what stopping takes
	ByTravel  Cause = "travel" // the axis ends there
	ByBlind   Cause = "blind"
	BySun     Cause = "sun"
	ByStopper Cause = "owner" // the owner pressed stop
)

// Level is how loud an event is.
type Level string

const (
	Note    Level = "note"
	Warning Level = "warning"
	Alarm   Level = "alarm"
)

// Reaction is what the watch does when it is blind.
type Reaction string

const (
	// StopBlind stops a mount that had been moving when it was last seen, or may be. The default.
	StopBlind Reaction = "stop"
	// AlarmBlind only says so.
	AlarmBlind Reaction = "alarm"
)
