package theme

import "time"

// AskWait is how long the program waits for the terminal's answers at its
// start. Only a terminal that answers nothing at all, or a slow line, uses it
// up.
const AskWait = 150 * time.Millisecond

// AskWaitAfar is AskWait for a terminal at the other end of a network. An answer
// that came later would be taken for typed keys.
const AskWaitAfar = time.Second

// question asks for the background colour (OSC 11) and then for the device
// attributes (DA1). A terminal answers in order, and every terminal answers
// the second, so that answer ends the wait where the first is not understood.
const question = "\x1b]11;?\x1b\\" + "\x1b[c"

// answerLimit bounds how many bytes are read in search of the answers.
const answerLimit = 512
