package program

// A strip is thirty-two lanes that go through the code of a block in one go, so
// that what one instruction leaves is in a register of the processor, or in the
// nearest cache, when another one wants it. The instructions are single
// operations on an accumulator of as many lanes: a chain of them stores nothing
// on its way but what somebody else reads. This file is what such code looks
// like, strip_make.go makes it out of values, and a build with vectors runs it.
// What it leaves in a block is right, or it says so, and the block is computed
// by the other code.

// stripLanes is how many lanes a strip has.
const stripLanes = 32

// stripOp is the operation of an instruction of a strip. x is the accumulator.
type stripOp uint8

const (
	stripMove   stripOp = iota // x
	stripAdd                   // x + b
	stripAddOne                // so, and in the others, b is the same in all lanes
	stripSub                   // x - b
	stripSubOne
	stripFrom // b - x
	stripFromOne
	stripMul // x * b
	stripMulOne
	stripDiv // x / b
	stripDivOne
	stripInto // b / x
	stripIntoOne
	stripDivide  // x / b by the inverse of b
	stripLower   // b where b < x, else x
	stripLowest  // x where x < b, else b
	stripHigher  // b where b > x, else x
	stripHighest // x where x > b, else b
	stripAtLeast // x >= b
	stripAtMost  // b >= x
	stripAtLeastOne
	stripAtMostOne
	stripChoose // b where x is yes, c where it is no
	stripPick   // the same where x surely is one of them
	stripSqrt
	stripAbs
	stripNeg
	stripEach // the operation of a call, which is made for each lane or for all
)

// seat is where an operand or a result is: in which room, and there in which
// register.
type seat int32

const (
	inLanes  = iota // registers that differ from lane to lane
	inFrame         // what is on its way
	inShared        // what is the same in all lanes
	rooms
)

func makeSeat(room int, index int32) seat { return seat(index<<2) | seat(room) }
func (p seat) room() int                  { return int(p & 3) }
func (p seat) index() int32               { return int32(p) >> 2 }

// own is the accumulator, as an operand, and nowhere, as a result.
const own seat = -1

// sequel is what is done with a result before it is left.
type sequel uint8

const (
	thenNothing sequel = iota
	thenSees           // see whether it is a number
	thenNot            // it is a truth: take the contrary
)

// stripInstr is one instruction as it is made: fetch a, do op, do what is to be
// done then, and leave the result in d.
type stripInstr struct {
	op         stripOp
	then       sequel
	call       uint16 // stripEach: which one
	a, b, c, d seat
}

// mostCalls is how many calls there may be.
const mostCalls = 1 << 15

// stripStep is an instruction as it is run: rooms, and how many bytes into them.
type stripStep struct {
	op             stripOp
	then           sequel
	ra, rb, rc, rd uint8 // nowhere for own
	call           uint16
	a, b, c, d     int32
}

// nowhere is no room.
const nowhere = rooms

// stripCode is what the lanes of a block go through.
type stripCode struct {
	code  []stripInstr
	calls []instr // what stripEach does; their operands are places
	once  []instr // what is the same in all lanes, to be run first
	slots int32   // how much of the frame once uses
	frame int32   // how much of the frame of strips code uses

	wides    []int32 // the registers in the room of lanes
	shared   []int32 // those in the room of what is shared, and what else is there
	divisors []int32 // instructions that may divide by an inverse
}
