package main

import (
	"bytes"
	"fmt"

	"github.com/tdewolff/parse/v2"
	"github.com/tdewolff/parse/v2/js"
)

// refuseOrder refuses a minified script in which a name is used before it is declared.
// The minifier joins declarations that follow each other, and puts one that takes
// something apart before the others: const x = f(); const [a, b] = g(x) becomes
// const [a, b] = g(x), x = f(), which no browser can run.
func refuseOrder(name string, minified []byte) error {
	tree, err := js.Parse(parse.NewInputBytes(bytes.Clone(minified)), js.Options{})
	if err != nil {
		return fmt.Errorf("%s cannot be read once it is minified: %w", name, err)
	}
	v := &orderVisitor{}
	js.Walk(v, tree)
	if v.early == "" {
		return nil
	}
	return fmt.Errorf("%s: the minifier puts %s before what it needs: take it apart without a declaration, or give it a function of its own", name, v.early)
}

// orderVisitor looks for the first declaration that comes too early.
type orderVisitor struct{ early string }

// Enter looks at one node of the syntax tree.
func (v *orderVisitor) Enter(node js.INode) js.IVisitor {
	decl, ok := node.(*js.VarDecl)
	if !ok || decl.TokenType == js.VarToken {
		return v
	}
	for i, element := range decl.List {
		later := map[string]bool{}
		for _, other := range decl.List[i+1:] {
			bound(other.Binding, later)
		}
		used := &useVisitor{later: later}
		if element.Default != nil && len(later) > 0 {
			js.Walk(used, element.Default)
		}
		if used.found && v.early == "" {
			v.early = element.String()
		}
	}
	return v
}

// Exit does nothing: all is seen on the way in.
func (v *orderVisitor) Exit(js.INode) {}

// bound adds the names that a binding declares.
func bound(binding js.IBinding, names map[string]bool) {
	switch b := binding.(type) {
	case *js.Var:
		names[string(b.Data)] = true
	case *js.BindingArray:
		for _, item := range b.List {
			bound(item.Binding, names)
		}
		bound(b.Rest, names)
	case *js.BindingObject:
		for _, item := range b.List {
			bound(item.Value.Binding, names)
		}
		if b.Rest != nil {
			bound(b.Rest, names)
		}
	}
}

// useVisitor looks for names that are used at once: what stands in a function is used
// when it is called.
type useVisitor struct {
	later map[string]bool
	found bool
}

// Enter looks at one node of the syntax tree.
func (v *useVisitor) Enter(node js.INode) js.IVisitor {
	switch n := node.(type) {
	case *js.FuncDecl, *js.ArrowFunc, *js.MethodDecl:
		return nil
	case *js.Var:
		v.found = v.found || v.later[string(n.Data)]
	}
	return v
}

// Exit does nothing: all is seen on the way in.
func (v *useVisitor) Exit(js.INode) {}
