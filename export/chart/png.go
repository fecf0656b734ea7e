package chart

import (
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"io"
	"math"
	"sync"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	"golang.org/x/image/math/fixed"
	"golang.org/x/image/vector"
)

// scale is the number of dots per pixel of the layout: enough to print.
const scale = 2

// WritePNG writes the charts one below the other as one picture. The same
// charts give the same bytes.
func WritePNG(w io.Writer, charts []Chart) error {
	p := &raster{img: image.NewRGBA(image.Rect(0, 0, Width*scale, Height*scale*max(1, len(charts))))}
	draw.Draw(p.img, p.img.Bounds(), image.White, image.Point{}, draw.Src)
	for i, c := range charts {
		c.draw(p, c.frameOf(float64(i*Height), Width, Height))
	}
	return png.Encode(w, p.img)
}

// raster is a canvas of dots.
type raster struct{ img *image.RGBA }

func (c colour) rgba() color.RGBA { return color.RGBA{c.r, c.g, c.b, 0xFF} }

func (p *raster) rule(x1, y1, x2, y2 float64, c colour) {
	p.stroke([]point{{x1, y1}, {x2, y2}}, 1, c)
}

func (p *raster) line(points []point, c colour, dash []float64) {
	if dash == nil {
		p.stroke(points, 2, c)
		return
	}
	for _, piece := range cut(points, dash) {
		p.stroke(piece, 2, c)
	}
}

// stroke fills a band of the given width along points.
func (p *raster) stroke(points []point, width float64, c colour) {
	for i := 1; i < len(points); i++ {
		a, b := points[i-1], points[i]
		dx, dy := b.x-a.x, b.y-a.y
		long := math.Hypot(dx, dy)
		if long == 0 {
			continue
		}
		nx, ny := -dy/long*width/2, dx/long*width/2
		p.fill(c, point{a.x + nx, a.y + ny}, point{b.x + nx, b.y + ny}, point{b.x - nx, b.y - ny}, point{a.x - nx, a.y - ny})
	}
	if width > 1 { // round the corners
		for _, q := range points[1:max(1, len(points)-1)] {
			p.disc(q, width/2, c)
		}
	}
}

// fill fills a polygon, in a window just large enough for it.
func (p *raster) fill(c colour, corners ...point) {
	lo, hi := corners[0], corners[0]
	for _, q := range corners {
		lo, hi = point{min(lo.x, q.x), min(lo.y, q.y)}, point{max(hi.x, q.x), max(hi.y, q.y)}
	}
	box := image.Rect(int(lo.x*scale)-1, int(lo.y*scale)-1, int(hi.x*scale)+2, int(hi.y*scale)+2)
	r := vector.NewRasterizer(box.Dx(), box.Dy())
	for i, q := range corners {
		x, y := float32(q.x*scale-float64(box.Min.X)), float32(q.y*scale-float64(box.Min.Y))
		if i == 0 {
			r.MoveTo(x, y)
		} else {
			r.LineTo(x, y)
		}
	}
	r.ClosePath()
	r.Draw(p.img, box, image.NewUniform(c.rgba()), image.Point{})
}

func (p *raster) dot(q point, c colour) { p.disc(q, 3, c) }

func (p *raster) bar(x, from, to, width float64, c colour) {
	p.stroke([]point{{x, from}, {x, to}}, width, c)
}

func (p *raster) disc(q point, radius float64, c colour) {
	const sides = 16
	corners := make([]point, sides)
	for i := range corners {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / sides)
		corners[i] = point{q.x + radius*cos, q.y + radius*sin}
	}
	p.fill(c, corners...)
}

// face returns the Go font in a size.
func face(size float64, bold bool) font.Face {
	f := regular()
	if bold {
		f = heavy()
	}
	out, err := opentype.NewFace(f, &opentype.FaceOptions{Size: size * scale, DPI: 72, Hinting: font.HintingNone})
	if err != nil {
		panic(err) // the embedded font with a size above 0
	}
	return out
}

var (
	regular = sync.OnceValue(func() *opentype.Font { return parse(goregular.TTF) })
	heavy   = sync.OnceValue(func() *opentype.Font { return parse(gobold.TTF) })
)

func parse(ttf []byte) *opentype.Font {
	f, err := opentype.Parse(ttf)
	if err != nil {
		panic(err) // the embedded font
	}
	return f
}

func (p *raster) words(q point, text string, size float64, bold bool, a anchor, c colour) {
	write(p.img, q, text, face(size, bold), a, c)
}

// write puts text on img, its baseline at q.
func write(img draw.Image, q point, text string, f font.Face, a anchor, c colour) {
	d := font.Drawer{Dst: img, Src: image.NewUniform(c.rgba()), Face: f}
	x := fixed.Int26_6(q.x * scale * 64)
	switch width := d.MeasureString(text); a {
	case middle:
		x -= width / 2
	case end:
		x -= width
	}
	d.Dot = fixed.Point26_6{X: x, Y: fixed.Int26_6(q.y * scale * 64)}
	d.DrawString(text)
}

func (p *raster) upright(q point, text string, size float64, c colour) {
	p.turned(q, text, size, 0.5, c)
}

func (p *raster) hanging(q point, text string, size float64, c colour) {
	p.turned(q, text, size, 1, c)
}

// turned writes a text that reads upwards; a share of its length is below q.
func (p *raster) turned(q point, text string, size, share float64, c colour) {
	f := face(size, false)
	width := font.MeasureString(f, text).Ceil()
	height := int(size * scale * 1.4)
	flat := image.NewRGBA(image.Rect(0, 0, width, height))
	write(flat, point{0, size}, text, f, begin, c)
	x0, y0 := int(q.x*scale)-int(size*scale), int(q.y*scale)+int(float64(width)*share)
	for y := range height {
		for x := range width {
			over(p.img, x0+y, y0-x, flat.RGBAAt(x, y))
		}
	}
}

// over puts one dot over another.
func over(img *image.RGBA, x, y int, c color.RGBA) {
	if c.A == 0 {
		return
	}
	under := img.RGBAAt(x, y)
	mix := func(top, bottom uint8) uint8 { return top + uint8(uint32(bottom)*(255-uint32(c.A))/255) }
	img.SetRGBA(x, y, color.RGBA{mix(c.R, under.R), mix(c.G, under.G), mix(c.B, under.B), 0xFF})
}

// cut splits a line into the pieces of a dash pattern.
func cut(points []point, dash []float64) [][]point {
	var out [][]point
	on, left, k := true, dash[0], 0
	piece := []point{points[0]}
	for i := 1; i < len(points); i++ {
		a, b := points[i-1], points[i]
		long := math.Hypot(b.x-a.x, b.y-a.y)
		for done := 0.0; done < long; {
			step := min(left, long-done)
			done += step
			left -= step
			at := point{a.x + (b.x-a.x)*done/long, a.y + (b.y-a.y)*done/long}
			if on {
				piece = append(piece, at)
			}
			if left > 0 {
				continue
			}
			if on {
				out = append(out, piece)
			}
			on, k = !on, (k+1)%len(dash)
			left, piece = dash[k], []point{at}
		}
	}
	if on && len(piece) > 1 {
		out = append(out, piece)
	}
	return out
}
