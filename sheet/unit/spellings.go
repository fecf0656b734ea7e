package unit

import "strings"

// spellings maps foreign spellings of units, in small letters, to symbols of
// ours; an ambiguous spelling has several. Only a text that is not a unit is
// looked up.
var spellings = indexSpellings(`
f °f deg_f fahrenheit = degF
c °c deg_c celsius centigrade = degC
k kelvin degk °k = K
deltak dk dc = deltaC
df = deltaF
° degree degrees = deg degC degF
radian radians = rad
g gee gees = gn g
gram grams = g
kgs kilo kilos kilogram kilograms = kg
lbm pound pounds = lb lbf
ounce ounces = oz floz
grain grains = gr
ton tons tonne tonnes = t
metre metres meter meters = m
millimetre millimetres millimeter millimeters = mm
kilometre kilometres kilometer kilometers = km
micron microns = um
inch inches ins = in
foot feet = ft
yard yards yds = yd
mile miles = mi
mils = thou
sec secs second seconds = s
msec msecs millisecond milliseconds = ms
usec = us
mins minute minutes = min
hr hrs hour hours = h
d = day
kph kmh kmph = km/h
fps = ft/s
mps = m/s
kt kts knot knots = kn
gal gals gallon gallons usgal = galUS galUK
impgal ukgal = galUK
qt qts quart quarts = qtUS
pt pts pint pints = ptUS ptUK
fl.oz fl-oz fl_oz ozfl = floz
litre litres liter liters ltr = L
ccs ccm cm^3 = cc
ci cid cuin cu.in in^3 = in3
cuft cu.ft = ft3
cfm = ft3/min
gpm = galUS/min
gph = galUS/h
lph = L/h
lpm = L/min
ccpm = cc/min
pph = lb/h
newton newtons = N
nm n-m newtonmetre newtonmeter = N.m
lb-ft ft-lb lb-ft ft-lbs lbft ftlb ftlbs lb*ft ft*lb lbs-ft lb·ft ft·lb lbf-ft ft-lbf = lbf.ft
lb-in in-lb in-lbs lbin inlb inlbs lb*in in*lb lbf-in in-lbf = lbf.in
kgm kgfm kg-m mkg = kgf.m
bhp whp rwhp shp horsepower = hp
cv ch = PS
watt watts = W
joule joules = J
calorie calories cal kcal = J
rpms r/min u/min = rpm
rps = turn/s
cycle cycles = turn
volt volts = V
amp amps ampere amperes = A
ω = ohm
percent pct = %
pascal pascals = Pa
mb millibar millibars = mbar
mfd microfarad microfarads = uF
henry henrys henries = H
ah amphour amphours = Ah
mercury "hg in.hg hg = inHg
inwc inh20 "h2o in.h2o = inH2O
psiabs psi(a) = psia
psigauge psi(g) = psig
psidiff = psid
$ dollar dollars = USD
€ euro euros = EUR
£ = GBP
`)

func indexSpellings(text string) map[string][]string {
	index := map[string][]string{}
	for _, line := range strings.Split(strings.TrimSpace(text), "\n") {
		from, to, _ := strings.Cut(line, " = ")
		for _, spelling := range strings.Fields(from) {
			index[spelling] = strings.Fields(to)
		}
	}
	return index
}

// signs maps characters of other keyboards to the ones used here.
var signs = strings.NewReplacer(
	"·", ".", "⋅", ".", "*", ".", "×", ".",
	"²", "2", "³", "3", "^", "", "µ", "u", "μ", "u", "°", "deg", "Ω", "ohm",
)
