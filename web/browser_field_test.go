package web

import "github.com/chromedp/chromedp/kb"

// A number that is refused poses the rig nowhere else, and stands there with its error until it is mended.
func refusedPose(b *browser, s *site) {
	p := b.visit(s, terraceRig)
	p.opened("rig")
	const dec = "document.querySelectorAll('.controls input[type=text]')[1]"
	const slider = "document.querySelectorAll('.controls input[type=range]')[1].value"
	p.fill("textbox", "Declination, °", "95")
	p.says(".slider", "Not taken, it stays at 40.0")
	p.keys(kb.Tab)
	p.until("the field still says so", dec+".value === '95' && "+dec+".getAttribute('aria-invalid') === 'true' && "+slider+" === '40'")
	p.fill("textbox", "Declination, °", "35\r")
	p.until("a number that may be is taken", dec+".value === '35.0' && "+slider+" === '35'")
	p.fill("textbox", "Hour angle, h", "13\r")
	p.says(".slider", "Not taken, it stays at −1.00")
	p.keys(kb.Escape)
	p.until("Escape brings back what was there", "document.querySelectorAll('.controls input[type=text]')[0].value === '−1.00'")
}

// While a field holds what is refused, the head of the editor says so, after saving and after coming back too.
func refusedLength(b *browser, s *site) {
	p := b.visit(s, terraceRig)
	p.opened("rig")
	p.fill("textbox", heightName, "banana")
	p.keys(kb.Tab)
	p.says(".bar", "One field is not taken: its old value counts")
	js[string](p, "document.activeElement.blur(), ''")
	p.keys("2")
	p.opened("sky")
	p.keys("1")
	p.opened("rig")
	p.says(".bar", "One field is not taken")
	p.reads(height, "banana")
	p.fill("textbox", heightName, "941\r")
	p.until("what is mended is not told any more", "!document.querySelector('.bar .alarm')")
}
