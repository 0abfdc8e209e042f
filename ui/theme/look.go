package theme

import "github.com/muesli/termenv"

// look is how a token appears. The 24-bit colours are all members of the
// 256-colour cube (each part 00, 5f, 87, af, d7 or ff), so a terminal with 256
// colours shows exactly the same ones. With 16 colours the terminal decides
// the shade, so each look names its index outright; a nearest match could land
// on one that is hard to read.
type look struct {
	text     string            // 24-bit text colour
	ground   string            // 24-bit background, empty for the terminal's own
	text16   termenv.ANSIColor // text colour of 16
	ground16 termenv.ANSIColor // background of 16, unused when ground is empty
}

// The 16 colours by index. Light grounds avoid the bright half and yellow,
// dark grounds avoid blue and the dark grey, which many terminals show too
// faintly to read.
const (
	black         termenv.ANSIColor = 0
	red           termenv.ANSIColor = 1
	blue          termenv.ANSIColor = 4
	magenta       termenv.ANSIColor = 5
	cyan          termenv.ANSIColor = 6
	lightGrey     termenv.ANSIColor = 7
	brightYellow  termenv.ANSIColor = 11
	brightMagenta termenv.ANSIColor = 13
	brightCyan    termenv.ANSIColor = 14
	white         termenv.ANSIColor = 15
)

var darkLooks = [tokens]look{
	Plain:    {text: "#d7d7d7", text16: lightGrey},
	Quiet:    {text: "#afafaf", text16: lightGrey},
	Heading:  {text: "#ffffff", text16: white},
	Label:    {text: "#afd7d7", text16: lightGrey},
	Focus:    {text: "#000000", ground: "#5fafff", text16: black, ground16: cyan},
	Changed:  {text: "#87d7ff", text16: brightCyan},
	Note:     {text: "#af87ff", text16: cyan},
	Warn:     {text: "#ffaf00", text16: brightYellow},
	Danger:   {text: "#ff87d7", text16: brightMagenta},
	Rule:     {text: "#87afaf", text16: lightGrey},
	Input:    {text: "#ffffff", ground: "#00005f", text16: white, ground16: blue},
	Key:      {text: "#d7d7ff", text16: brightCyan},
	Baseline: {text: "#ffffd7", text16: white},
	// The higher, the lighter. Sixteen colours have fewer steps to offer.
	Shade:     {text: "#d7d7d7", ground: "#000000", text16: lightGrey, ground16: black},
	Shade + 1: {text: "#ffffff", ground: "#005f5f", text16: white, ground16: blue},
	Shade + 2: {text: "#000000", ground: "#008787", text16: white, ground16: blue},
	Shade + 3: {text: "#000000", ground: "#5fafaf", text16: black, ground16: cyan},
	Shade + 4: {text: "#000000", ground: "#afd7d7", text16: black, ground16: lightGrey},
}

var lightLooks = [tokens]look{
	Plain:    {text: "#000000", text16: black},
	Quiet:    {text: "#5f5f5f", text16: black},
	Heading:  {text: "#00005f", text16: blue},
	Label:    {text: "#005f5f", text16: black},
	Focus:    {text: "#ffffff", ground: "#005faf", text16: white, ground16: blue},
	Changed:  {text: "#005faf", text16: blue},
	Note:     {text: "#8700ff", text16: blue},
	Warn:     {text: "#875f00", text16: red},
	Danger:   {text: "#af005f", text16: magenta},
	Rule:     {text: "#5f5f5f", text16: black},
	Input:    {text: "#000000", ground: "#d7d7ff", text16: black, ground16: lightGrey},
	Key:      {text: "#00005f", text16: blue},
	Baseline: {text: "#5f0000", text16: black},
	// The higher, the darker.
	Shade:     {text: "#000000", ground: "#ffffff", text16: black, ground16: white},
	Shade + 1: {text: "#000000", ground: "#afd7d7", text16: black, ground16: lightGrey},
	Shade + 2: {text: "#000000", ground: "#5fafaf", text16: black, ground16: lightGrey},
	Shade + 3: {text: "#000000", ground: "#008787", text16: black, ground16: cyan},
	Shade + 4: {text: "#ffffff", ground: "#005f5f", text16: white, ground16: blue},
}

// prefix returns the escape sequence that begins text of this look in the
// colours that profile has.
func (l look) prefix(profile termenv.Profile) string {
	var text, ground termenv.Color = l.text16, l.ground16
	if profile != termenv.ANSI {
		text, ground = profile.Color(l.text), profile.Color(l.ground)
	}
	codes := text.Sequence(false)
	if l.ground != "" {
		codes += ";" + ground.Sequence(true)
	}
	return termenv.CSI + codes + "m"
}
