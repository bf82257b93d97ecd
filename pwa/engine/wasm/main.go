//go:build !js

// Command wasm is the engine's door for the phone. It is built with GOOS=js
// GOARCH=wasm and loaded by the worker that owns the store. Built for any
// other system it answers the same calls from standard input, so that a test
// can hold the two against each other byte by byte; people use the command
// `needlesight engine` instead.
package main

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"os"
)

func main() {
	if len(os.Args) != 2 || os.Args[1] != "lines" {
		fmt.Fprintln(os.Stderr, `The engine's door for the phone: build it with GOOS=js GOARCH=wasm.
With the word "lines" it answers calls from standard input, one a line: ["method","request"].
To ask the engine from a shell, use: needlesight engine --list`)
		os.Exit(2)
	}
	if err := answerLines(os.Stdin, os.Stdout); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

// answerLines answers each call of in with a line of out.
func answerLines(in io.Reader, out io.Writer) error {
	calls, answers := json.NewDecoder(in), bufio.NewWriter(out)
	for {
		var call [2]string
		if err := calls.Decode(&call); err == io.EOF {
			return answers.Flush()
		} else if err != nil {
			return fmt.Errorf("a call is not [\"method\",\"request\"]: %w", err)
		}
		answers.Write(answer(methods, call[0], []byte(call[1])))
		answers.WriteByte('\n') // bufio keeps the first error for Flush
	}
}
