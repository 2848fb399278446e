package web

import (
	"bytes"
	"cmp"
	_ "embed"
	"fmt"
	"html/template"
	"io/fs"
	"net/http"
	"net/url"
	"path"
	"slices"
	"strings"
	"sync"
	"unicode"

	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/extension"
	"github.com/yuin/goldmark/parser"
	"github.com/yuin/goldmark/text"

	"legroom/docs"
)

// docsAt is where the documents stand: sky.md at /docs/sky, their pictures under their own names.
const docsAt = "/docs/"

//go:embed docs.css
var docsStyle []byte

// themes are the page's; a document is shown in that which ?theme= names, or in the system's.
var themes = []string{"light", "dark", "red"}

var docsPage = template.Must(template.New("").Parse(`<!doctype html>
<html lang="en"{{with .Theme}} data-theme="{{.}}"{{end}}>
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{{.Title}} · Legroom</title>
<link rel="icon" href="/mark.svg" type="image/svg+xml">
<link rel="stylesheet" href="/style.css">
<link rel="stylesheet" href="/docs/docs.css">
</head>
<body class="document">
<nav aria-label="Documents"><a href="/docs/README{{.Query}}">All documents</a></nav>
<main>
{{.Body}}</main>
</body>
</html>
`))

// documents serves the documents as pages that load nothing from elsewhere.
func documents(w http.ResponseWriter, r *http.Request) {
	name := cmp.Or(strings.TrimPrefix(r.URL.Path, docsAt), "README")
	if name == "docs.css" {
		w.Header().Set("Content-Type", "text/css; charset=utf-8")
		_, _ = w.Write(docsStyle) // a page that is gone needs no style
		return
	}
	if path.Ext(name) != "" {
		http.StripPrefix(docsAt, http.FileServerFS(docs.Files)).ServeHTTP(w, r)
		return
	}
	source, err := fs.ReadFile(docs.Files, name+".md")
	if err != nil {
		problem(w, http.StatusNotFound, "there is no document %s; %sREADME lists them", r.URL.Path, docsAt)
		return
	}
	theme := r.URL.Query().Get("theme")
	if !slices.Contains(themes, theme) {
		theme = ""
	}
	title, body, err := render(source, query(theme))
	var page bytes.Buffer
	if err == nil {
		err = docsPage.Execute(&page, struct {
			Title, Theme string
			Query        template.URL
			Body         template.HTML
		}{title, theme, template.URL(query(theme)), template.HTML(body)}) // our own text, without raw HTML
	}
	if err != nil {
		problem(w, http.StatusInternalServerError, "%s: %v", r.URL.Path, err)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	_, _ = w.Write(page.Bytes()) // a page that is gone needs no answer
}

// query keeps a theme from document to document.
func query(theme string) string {
	if theme == "" {
		return ""
	}
	return "?theme=" + theme
}

// markdown is made when the first document is asked for: no other command needs it.
var markdown = sync.OnceValue(func() goldmark.Markdown {
	return goldmark.New(goldmark.WithExtensions(extension.Table), goldmark.WithParserOptions(parser.WithAutoHeadingID()))
})

// render makes HTML of a document, and finds its first heading. Links go to documents here; what leads out of the folder is plain
// text, as it is not there.
func render(source []byte, query string) (title string, html []byte, err error) {
	doc := markdown().Parser().Parse(text.NewReader(source), parser.WithContext(parser.NewContext(parser.WithIDs(slugs{}))))
	var out []*ast.Link
	err = ast.Walk(doc, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
		if !entering {
			return ast.WalkContinue, nil
		}
		switch n := n.(type) {
		case *ast.Heading:
			if title == "" {
				title = plainText(n, source)
			}
		case *ast.Link:
			to, ok := docsLink(string(n.Destination), query)
			if n.Destination = []byte(to); !ok {
				out = append(out, n)
			}
		}
		return ast.WalkContinue, nil
	})
	if err != nil {
		return "", nil, err
	}
	for _, n := range out {
		for c := n.FirstChild(); c != nil; c = n.FirstChild() {
			n.Parent().InsertBefore(n.Parent(), n, c)
		}
		n.Parent().RemoveChild(n.Parent(), n)
	}
	var b bytes.Buffer
	err = markdown().Renderer().Render(&b, source, doc)
	return title, b.Bytes(), err
}

// docsLink is where a link of a document leads on the page; not ok is one that leads out of the documents.
func docsLink(to, query string) (string, bool) {
	u, err := url.Parse(to)
	if err != nil || u.IsAbs() {
		return "", false
	}
	if u.Path == "" {
		return to, true
	}
	if _, err := fs.Stat(docs.Files, u.Path); err != nil {
		return "", false
	}
	at := docsAt + u.Path
	if name, ok := strings.CutSuffix(at, ".md"); ok {
		at = name + query
	}
	if u.Fragment != "" {
		at += "#" + u.Fragment
	}
	return at, true
}

// slugs names paragraphs as the links of the documents do: small letters, figures, - and _ of a heading, and - for a space.
type slugs map[string]bool

func (s slugs) Generate(heading []byte, _ ast.NodeKind) []byte {
	slug := strings.Map(func(r rune) rune {
		switch {
		case r == ' ':
			return '-'
		case unicode.IsLetter(r) || unicode.IsDigit(r) || r == '-' || r == '_':
			return unicode.ToLower(r)
		}
		return -1
	}, strings.TrimSpace(string(heading)))
	one := slug
	for n := 1; s[one]; n++ {
		one = fmt.Sprint(slug, "-", n)
	}
	s[one] = true
	return []byte(one)
}

func (s slugs) Put(slug []byte) { s[string(slug)] = true }

// plainText is the text below a node.
func plainText(n ast.Node, source []byte) string {
	var b strings.Builder
	_ = ast.Walk(n, func(n ast.Node, entering bool) (ast.WalkStatus, error) {
		if t, ok := n.(*ast.Text); ok && entering {
			b.Write(t.Segment.Value(source))
		}
		return ast.WalkContinue, nil
	})
	return b.String()
}
