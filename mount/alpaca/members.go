package alpaca

// Param is an argument of a member, with its exact name.
type Param struct {
	Name string
	Kind Kind
}

// Member is one operation of a type of device.
type Member struct {
	Name   string
	Put    bool
	Params []Param
	Value  Kind
}

// memberKey tells members of one name apart by method.
type memberKey struct {
	name string
	put  bool
}

// members holds, for each type of device in lower case, what the standard gives it. The names and parameters are the
// standard's [mem].
var members = map[string]map[memberKey]Member{
	"telescope":     index(common, telescope),
	"safetymonitor": index(common, []Member{get("issafe", Bool)}),
}

// MemberOf returns the operation of a name, or false if the standard has none for that type of device.
func MemberOf(deviceType, name string, put bool) (Member, bool) {
	m, ok := members[deviceType][memberKey{name, put}]
	return m, ok
}

// Members lists every operation of a type of device, in no order.
func Members(deviceType string) []Member {
	var all []Member
	for _, m := range members[deviceType] {
		all = append(all, m)
	}
	return all
}

func index(lists ...[]Member) map[memberKey]Member {
	byKey := map[memberKey]Member{}
	for _, list := range lists {
		for _, m := range list {
			byKey[memberKey{m.Name, m.Put}] = m
		}
	}
	return byKey
}

func get(name string, value Kind, params ...Param) Member {
	return Member{Name: name, Value: value, Params: params}
}

func put(name string, params ...Param) Member {
	return Member{Name: name, Put: true, Params: params}
}

// asks is a PUT that answers with a value.
func asks(name string, value Kind, params ...Param) Member {
	return Member{Name: name, Put: true, Value: value, Params: params}
}

var (
	command    = []Param{{"Command", Text}, {"Raw", Bool}}
	equatorial = []Param{{"RightAscension", Float}, {"Declination", Float}}
	horizontal = []Param{{"Azimuth", Float}, {"Altitude", Float}}
	axis       = Param{"Axis", Int}
)

// common is what every type of device has.
var common = []Member{
	asks("action", Text, Param{"Action", Text}, Param{"Parameters", Text}),
	put("commandblind", command...),
	asks("commandbool", Bool, command...),
	asks("commandstring", Text, command...),
	get("connected", Bool), put("connected", Param{"Connected", Bool}),
	put("connect"), put("disconnect"), get("connecting", Bool),
	get("description", Text),
	get("devicestate", List),
	get("driverinfo", Text),
	get("driverversion", Text),
	get("interfaceversion", Int),
	get("name", Text),
	get("supportedactions", List),
}

var telescope = []Member{
	get("alignmentmode", Int),
	get("altitude", Float),
	get("aperturearea", Float),
	get("aperturediameter", Float),
	get("athome", Bool),
	get("atpark", Bool),
	get("axisrates", List, axis),
	get("azimuth", Float),
	get("canfindhome", Bool),
	get("canmoveaxis", Bool, axis),
	get("canpark", Bool),
	get("canpulseguide", Bool),
	get("cansetdeclinationrate", Bool),
	get("cansetguiderates", Bool),
	get("cansetpark", Bool),
	get("cansetpierside", Bool),
	get("cansetrightascensionrate", Bool),
	get("cansettracking", Bool),
	get("canslew", Bool),
	get("canslewaltaz", Bool),
	get("canslewaltazasync", Bool),
	get("canslewasync", Bool),
	get("cansync", Bool),
	get("cansyncaltaz", Bool),
	get("canunpark", Bool),
	get("declination", Float),
	get("declinationrate", Float), put("declinationrate", Param{"DeclinationRate", Float}),
	get("destinationsideofpier", Int, equatorial...),
	get("doesrefraction", Bool), put("doesrefraction", Param{"DoesRefraction", Bool}),
	get("equatorialsystem", Int),
	get("focallength", Float),
	get("guideratedeclination", Float), put("guideratedeclination", Param{"GuideRateDeclination", Float}),
	get("guideraterightascension", Float), put("guideraterightascension", Param{"GuideRateRightAscension", Float}),
	get("ispulseguiding", Bool),
	get("rightascension", Float),
	get("rightascensionrate", Float), put("rightascensionrate", Param{"RightAscensionRate", Float}),
	get("sideofpier", Int), put("sideofpier", Param{"SideOfPier", Int}),
	get("siderealtime", Float),
	get("siteelevation", Float), put("siteelevation", Param{"SiteElevation", Float}),
	get("sitelatitude", Float), put("sitelatitude", Param{"SiteLatitude", Float}),
	get("sitelongitude", Float), put("sitelongitude", Param{"SiteLongitude", Float}),
	get("slewing", Bool),
	get("slewsettletime", Int), put("slewsettletime", Param{"SlewSettleTime", Int}),
	get("targetdeclination", Float), put("targetdeclination", Param{"TargetDeclination", Float}),
	get("targetrightascension", Float), put("targetrightascension", Param{"TargetRightAscension", Float}),
	get("tracking", Bool), put("tracking", Param{"Tracking", Bool}),
	get("trackingrate", Int), put("trackingrate", Param{"TrackingRate", Int}),
	get("trackingrates", List),
	get("utcdate", Text), put("utcdate", Param{"UTCDate", Text}),

	put("abortslew"),
	put("findhome"),
	put("moveaxis", axis, Param{"Rate", Float}),
	put("park"),
	put("pulseguide", Param{"Direction", Int}, Param{"Duration", Int}),
	put("setpark"),
	put("slewtoaltaz", horizontal...),
	put("slewtoaltazasync", horizontal...),
	put("slewtocoordinates", equatorial...),
	put("slewtocoordinatesasync", equatorial...),
	put("slewtotarget"),
	put("slewtotargetasync"),
	put("synctoaltaz", horizontal...),
	put("synctocoordinates", equatorial...),
	put("synctotarget"),
	put("unpark"),
}
