package sky

import (
	"slices"
	"strings"
)

// Search lists the built-in objects that a text may mean, those that it names exactly first: designations that begin with it, names
// that hold it, and all of a kind ("open cluster") or of a constellation by its abbreviation ("And"). Letters' case, spaces and dashes
// do not matter.
func Search(text string) []Object {
	key := catalogueKey(text)
	if key == "" {
		return nil
	}
	var exact, near []Object
	for i, o := range catalogue().objects {
		switch {
		case slices.Contains(catalogue().byKey[key], i) || slices.Contains(catalogue().byKey[catalogueStem(key)], i):
			exact = append(exact, o)
		case o.resembles(key):
			near = append(near, o)
		}
	}
	return append(exact, near...)
}

func (o *Object) resembles(key string) bool {
	for _, s := range append([]string{o.Designation}, o.Also...) {
		if strings.HasPrefix(catalogueKey(s), key) {
			return true
		}
	}
	for _, s := range append([]string{o.Kind}, o.Names...) {
		if strings.Contains(catalogueKey(s), key) {
			return true
		}
	}
	return catalogueKey(o.Constellation) == key
}
