package report

// Pen takes what a section says, in order: it is drawn as PDF or kept as a
// Sheet.
type Pen interface {
	Heading(text string)
	Text(text string)
	Table(caption string, columns ...Column)
	Row(cells ...string) // of the table begun last
}

// Column heads a column of a table; Width is its share.
type Column struct {
	Text  string `json:"text"`
	Width int    `json:"-"`
	Num   bool   `json:"num,omitempty"`
	Mono  bool   `json:"-"` // letters stand below each other
}

// Sheet is a section that was kept: of a page to print, or as JSON.
type Sheet struct {
	ID     string  `json:"id"`
	Title  string  `json:"title"`
	Blocks []Block `json:"blocks"`
}

// Block is a heading, a paragraph or a table of a sheet.
type Block struct {
	Heading string     `json:"heading,omitempty"`
	Text    string     `json:"text,omitempty"`
	Caption string     `json:"caption,omitempty"`
	Head    []Column   `json:"head,omitempty"`
	Rows    [][]string `json:"rows,omitempty"`
}

// Heading makes a Sheet a Pen.
func (s *Sheet) Heading(text string) { s.Blocks = append(s.Blocks, Block{Heading: text}) }

// Text adds a paragraph.
func (s *Sheet) Text(text string) { s.Blocks = append(s.Blocks, Block{Text: text}) }

// Table begins a table.
func (s *Sheet) Table(caption string, columns ...Column) {
	s.Blocks = append(s.Blocks, Block{Caption: caption, Head: columns})
}

// Row adds a row to the table begun last.
func (s *Sheet) Row(cells ...string) {
	last := &s.Blocks[len(s.Blocks)-1]
	last.Rows = append(last.Rows, cells)
}

// Keep keeps one section of a book; its ID is one of Sections.
func Keep(b *Book, w Words, id string) (*Sheet, error) {
	for _, s := range Sections {
		if s.ID == id {
			sheet := &Sheet{ID: s.ID, Title: s.Title}
			return sheet, s.write(b, w, sheet)
		}
	}
	return nil, errNoSection
}
