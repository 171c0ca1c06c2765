package web

import (
	"strconv"
	"strings"
)

// cells are rows of a form to fill in: see static/templates/partials/plot.html.
type cells struct {
	Caption string
	Head    []string
	Rows    [][]cellField
}

// cellField is one field of a row. Its id is the name and the number of the row.
type cellField struct {
	Name, ID, Label, Value string
	Bad                    bool
	Fixed                  bool // names the row, is not typed
	Options                []choice
}

// column is a field that every row has.
type column struct {
	name, head string
	values     []string
	options    []choice
	fixed      bool
}

// fewestRows is how many rows a form opens with; moreRows how many are added.
const fewestRows, moreRows = 6, 6

// newCells makes a form of columns: as many rows as are asked for, and never
// fewer than were typed. bad is the id of the field that was not taken.
func newCells(caption string, rows int, bad string, columns ...column) cells {
	c := cells{Caption: caption}
	for _, col := range columns {
		c.Head = append(c.Head, col.head)
		rows = max(rows, typedRows(col.values))
	}
	for i := range rows {
		var fields []cellField
		for _, col := range columns {
			n := strconv.Itoa(i + 1)
			f := cellField{Name: col.name, ID: col.name + "-" + n, Options: col.options, Fixed: col.fixed,
				Label: strings.ToLower(col.head) + ", row " + n}
			if i < len(col.values) {
				f.Value = col.values[i]
			}
			f.Bad = f.ID == bad
			fields = append(fields, f)
		}
		c.Rows = append(c.Rows, fields)
	}
	return c
}

// typedRows is the number of the last row that something was typed into.
func typedRows(values []string) (n int) {
	for i, v := range values {
		if strings.TrimSpace(v) != "" {
			n = i + 1
		}
	}
	return n
}

// rowsAsked is how many rows a form is to have: as its button said.
func rowsAsked(said string) int {
	n, err := strconv.Atoi(said)
	if err != nil {
		return fewestRows
	}
	return min(max(n, fewestRows), 120)
}
