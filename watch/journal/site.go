package journal

import "legroom/rig"

// SiteOf is the site of the newest rig among sessions whose document can be read, for Nights; one on UTC when there is none.
func SiteOf(sessions []Session) rig.Site {
	for i := len(sessions) - 1; i >= 0; i-- {
		if r, err := rig.Parse([]byte(sessions[i].Document), ""); err == nil {
			return r.Site
		}
	}
	return rig.Site{TimeZone: "UTC"}
}
