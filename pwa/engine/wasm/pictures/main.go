//go:build !js

// Command pictures is the door of the engine's second half for the phone. It is built
// with GOOS=js GOARCH=wasm and loaded by a worker of its own when a picture is first
// looked at. Built for any other system it answers the same calls from standard input,
// so that a test can hold the two against each other byte by byte; people use the
// command `needlesight engine` instead.
package main

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"os"

	"needlesight/pwa/engine/raster"
)

func main() {
	if len(os.Args) != 2 || os.Args[1] != "lines" {
		fmt.Fprintln(os.Stderr, `The pictures' door of the engine for the phone: build it with GOOS=js GOARCH=wasm.
With the word "lines" it answers calls from standard input, one a line: ["method","request",{"name":{"file":"base64"}}].
To ask the engine from a shell, use: needlesight engine --list`)
		os.Exit(2)
	}
	if err := answerLines(os.Stdin, os.Stdout); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

// line is a picture in a line of text: its pixels or its file.
type line struct {
	Width  int    `json:"width"`
	Height int    `json:"height"`
	RGBA   []byte `json:"rgba"` // in base64, like File
	File   []byte `json:"file"`
}

// answerLines answers each call of in with a line of out: ["response", "file in
// base64" or null].
func answerLines(in io.Reader, out io.Writer) error {
	calls, answers := json.NewDecoder(in), bufio.NewWriter(out)
	for {
		var method, request string
		var lines map[string]line
		if err := calls.Decode(&[]any{&method, &request, &lines}); err == io.EOF {
			return answers.Flush()
		} else if err != nil {
			return fmt.Errorf("a call is not [\"method\",\"request\",{pictures}]: %w", err)
		}
		response, file := answer(method, []byte(request), &opened{take: func(name string) (given, error) { return taken(lines, name) }})
		text, err := json.Marshal([]any{string(response), file})
		if err != nil {
			return err
		}
		answers.Write(append(text, '\n')) // bufio keeps the first error for Flush
	}
}

// taken is the picture of a line.
func taken(lines map[string]line, name string) (given, error) {
	l, there := lines[name]
	switch {
	case !there:
		return given{}, raster.Missing(name)
	case l.File != nil:
		return given{file: l.File}, nil
	}
	p := &raster.Picture{Width: l.Width, Height: l.Height, Pix: l.RGBA}
	return given{pixels: p}, p.Check(name)
}
