// Command needlesight serves the app to this computer's browser, and opens the
// engine to the shell.
package main

import (
	"bytes"
	"context"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/signal"
	"reflect"
	"runtime"
	"runtime/debug"
	"strings"
	"syscall"

	"github.com/invopop/jsonschema"
	"github.com/spf13/cobra"

	"needlesight/pwa/engine/call"
	"needlesight/pwa/engine/fault"
	"needlesight/pwa/engine/raster"
	"needlesight/pwa/engine/raster/decode"
	"needlesight/pwa/engine/shell"
	"needlesight/server/cli"
)

// version is set by the Makefile; see versionText for when it is not.
var version string

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	context.AfterFunc(ctx, stop) // a second signal ends the program at once
	err := commands().ExecuteContext(ctx)
	if err == nil {
		return
	}
	if e, ok := errors.AsType[*fault.Error](err); ok {
		fmt.Fprintf(os.Stderr, "%s\n", fault.JSON(e))
	} else {
		fmt.Fprintln(os.Stderr, "needlesight:", err)
	}
	os.Exit(1)
}

// commands is the program's tree of commands.
func commands() *cobra.Command {
	root := &cobra.Command{
		Use:   "needlesight",
		Short: "Count, compare and mend the proportions of a needle-felted animal",
		Long: `needlesight tells a maker which part of her wool animal is out of proportion, by
how much, and what to do about it. The app runs in a browser and keeps what is
entered there; this program serves it, and is the home to which phones and tablets
bring what they have.

Without a command it does what 'needlesight serve' does.`,
		Args:          cobra.NoArgs,
		SilenceUsage:  true,
		SilenceErrors: true,
		Version:       versionText(),
	}
	root.SetVersionTemplate("needlesight {{.Version}}\n")
	home := cli.Commands(cli.Program{Version: versionText()})
	root.RunE = home[0].RunE
	root.Flags().AddFlagSet(home[0].Flags())
	root.AddCommand(home...)
	root.AddCommand(engineCommand(), versionCommand())
	return root
}

// engineCommand is the engine's door for the shell.
func engineCommand() *cobra.Command {
	var list bool
	var describe, out string
	cmd := &cobra.Command{
		Use:   "engine METHOD < request.json > response.json",
		Short: "Ask the engine one question, in JSON",
		Long: `Runs one method of the engine: the request is read as JSON from standard input, the
response is written as JSON to standard output. Lengths are in mm, angles in
radians, masses in grams, and the names of the fields say so. A picture is named by
the path of its file, JPEG or PNG.

A file that comes with the response, a PDF say, goes where --out tells; without it
the response holds it as "bytes", in base64.

When the engine cannot answer, standard output stays empty, standard error holds
{"error":{"code":...,"text":...,"at":...}}, and the exit status is 1.`,
		Example: `  needlesight engine --list
  needlesight engine --describe sight
  echo '{"whole":3,"numerator":1,"denominator":4}' | needlesight engine sight
  echo '{"image":"otter.jpg","scale":"id-1"}' | needlesight engine outline-photo`,
		Args:              cobra.MaximumNArgs(1),
		ValidArgsFunction: completeMethods,
		RunE: func(cmd *cobra.Command, args []string) error {
			switch {
			case list:
				return listMethods(cmd.OutOrStdout())
			case describe != "":
				return describeMethod(cmd.OutOrStdout(), describe)
			case len(args) == 0:
				return errors.New("engine needs the name of a method; 'needlesight engine --list' shows them")
			}
			return ask(cmd, args[0], out)
		},
	}
	cmd.Flags().BoolVar(&list, "list", false, "list all methods")
	cmd.Flags().StringVar(&describe, "describe", "", "print the JSON Schema of a `METHOD`'s request and response")
	cmd.Flags().StringVar(&out, "out", "", "write the file that comes with the response to this `FILE`")
	cmd.MarkFlagsMutuallyExclusive("list", "describe", "out")
	if err := cmd.RegisterFlagCompletionFunc("describe", completeMethods); err != nil {
		panic(err) // the flag is made two lines above
	}
	return cmd
}

// completeMethods offers the names of the methods to the shell.
func completeMethods(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	var names []string
	if len(args) == 0 {
		for _, m := range shell.Table() {
			names = append(names, m.Name+"\t"+m.Doc)
		}
	}
	return names, cobra.ShellCompDirectiveNoFileComp
}

// ask runs a method on standard input. A file beside its answer is written to out,
// or into the answer.
func ask(cmd *cobra.Command, method, out string) error {
	in := cmd.InOrStdin()
	if file, ok := in.(*os.File); ok {
		if info, err := file.Stat(); err == nil && info.Mode()&os.ModeCharDevice != 0 {
			fmt.Fprintln(cmd.ErrOrStderr(), "Type the request as JSON, then press Ctrl-D (Ctrl-Z and Enter on Windows).")
		}
	}
	request, err := io.ReadAll(io.LimitReader(in, call.MaxRequest+1)) // one more, so that the engine sees it is too long
	if err != nil {
		return fmt.Errorf("reading the request: %w", err)
	}
	response, file, err := shell.Table().Call(method, request, photoFiles{})
	switch {
	case err != nil:
		return err
	case out != "" && file == nil:
		return fmt.Errorf("no file comes with the response of %s; ask without --out", method)
	case out != "":
		err = os.WriteFile(out, file, 0o644)
	case file != nil:
		response = withBytes(response, file)
	}
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(cmd.OutOrStdout(), "%s\n", response)
	return err
}

// withBytes adds a file to a JSON object, as "bytes" in base64.
func withBytes(object, file []byte) []byte {
	open := bytes.TrimSuffix(object, []byte("}"))
	if len(open) > len("{") {
		open = append(open, ',')
	}
	return append(base64.StdEncoding.AppendEncode(append(open, `"bytes":"`...), file), `"}`...)
}

// maxPhoto is the longest file of a picture in bytes that is read.
const maxPhoto = 64 << 20

// photoFiles are the pictures of a request, by the paths of their files. Each is read
// once.
type photoFiles map[string]*photoFile

type photoFile struct {
	bytes  []byte
	pixels *raster.Picture
}

// Pixels decodes a file.
func (p photoFiles) Pixels(path string) (*raster.Picture, error) {
	f, err := p.read(path)
	if err == nil && f.pixels == nil {
		f.pixels, err = decode.Picture(path, f.bytes)
	}
	if err != nil {
		return nil, err
	}
	return f.pixels, nil
}

// File gives a file, made upright.
func (p photoFiles) File(path string) ([]byte, string, error) {
	f, err := p.read(path)
	if err != nil {
		return nil, "", err
	}
	return decode.Upright(path, f.bytes)
}

func (p photoFiles) read(path string) (*photoFile, error) {
	if f, ok := p[path]; ok {
		return f, nil
	}
	file, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fault.New(fault.PictureMissing, path, "There is no picture %.200q. Give its path from the directory you are in.", path)
	}
	if err != nil {
		return nil, fault.New(fault.PictureNotRead, path, "The picture cannot be opened: %v.", err)
	}
	defer file.Close()
	text, err := io.ReadAll(io.LimitReader(file, maxPhoto+1))
	if err != nil {
		return nil, fault.New(fault.PictureNotRead, path, "The picture cannot be read: %v.", err)
	}
	if len(text) > maxPhoto {
		return nil, fault.New(fault.PictureTooBig, path, "%.200s is longer than %d MiB, which is the most that is read.", path, maxPhoto>>20)
	}
	p[path] = &photoFile{bytes: text}
	return p[path], nil
}

func listMethods(out io.Writer) error {
	width := 0
	for _, m := range shell.Table() {
		width = max(width, len(m.Name))
	}
	for _, m := range shell.Table() {
		if _, err := fmt.Fprintf(out, "%-*s  %s\n", width, m.Name, m.Doc); err != nil {
			return err
		}
	}
	return nil
}

// describeMethod prints the JSON Schema of a method's request and response.
func describeMethod(out io.Writer, name string) error {
	for _, m := range shell.Table() {
		if m.Name != name {
			continue
		}
		response := schemaOf(m.Response)
		if m.File {
			response.Properties.Set("bytes", &jsonschema.Schema{Type: "string", ContentEncoding: "base64", Description: "The file, without --out."})
		}
		text, err := json.MarshalIndent(struct {
			Method   string             `json:"method"`
			Doc      string             `json:"doc"`
			Request  *jsonschema.Schema `json:"request"`
			Response *jsonschema.Schema `json:"response"`
		}{m.Name, m.Doc, schemaOf(m.Request), response}, "", "  ")
		if err != nil {
			return err
		}
		_, err = fmt.Fprintf(out, "%s\n", text)
		return err
	}
	return fault.New(fault.UnknownMethod, "", "There is no method called %q.", name)
}

// schemaOf is the JSON Schema of a struct of the engine. Fields that may be left out
// are not required, pointers may be null, and other fields are not allowed.
func schemaOf(t reflect.Type) *jsonschema.Schema {
	schema := (&jsonschema.Reflector{DoNotReference: true, Anonymous: true, Mapper: eitherSchema}).ReflectFromType(t)
	allowNull(schema, t)
	return schema
}

// eitherSchema is the schema of a type whose JSON is of one of several kinds, and nil
// for any other.
func eitherSchema(t reflect.Type) *jsonschema.Schema {
	var schema *jsonschema.Schema
	for _, choice := range call.Choices(t) {
		if schema == nil {
			schema = &jsonschema.Schema{}
		}
		one := schemaOf(choice)
		one.Version = ""
		schema.OneOf = append(schema.OneOf, one)
	}
	return schema
}

// allowNull adds null to the schema of every field that is a pointer.
func allowNull(schema *jsonschema.Schema, t reflect.Type) {
	if call.Choices(t) != nil {
		return // each has its own schema
	}
	switch t.Kind() {
	case reflect.Pointer:
		allowNull(schema, t.Elem())
	case reflect.Slice, reflect.Array:
		if schema.Items != nil {
			allowNull(schema.Items, t.Elem())
		}
	case reflect.Struct:
		for f := range t.Fields() {
			name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
			if f.Anonymous && name == "" {
				allowNull(schema, f.Type)
				continue
			}
			field, ok := schema.Properties.Get(name)
			if !ok {
				continue
			}
			allowNull(field, f.Type)
			if f.Type.Kind() == reflect.Pointer {
				schema.Properties.Set(name, &jsonschema.Schema{OneOf: []*jsonschema.Schema{field, {Type: "null"}}})
			}
		}
	}
}

// versionCommand prints the version.
func versionCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "version",
		Short: "Print the version of this program",
		Args:  cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			_, err := fmt.Fprintf(cmd.OutOrStdout(), "needlesight %s\n", versionText())
			return err
		},
	}
}

// versionText is the version set at build time, or what the toolchain noted, with
// the Go version and the system.
func versionText() string {
	text := version
	if info, ok := debug.ReadBuildInfo(); ok && text == "" {
		text = info.Main.Version
		for _, s := range info.Settings {
			if s.Key == "vcs.revision" && (text == "" || text == "(devel)") {
				text = s.Value[:min(12, len(s.Value))]
			}
		}
	}
	if text == "" || text == "(devel)" {
		text = "of unknown version"
	}
	return fmt.Sprintf("%s (%s, %s/%s)", text, runtime.Version(), runtime.GOOS, runtime.GOARCH)
}
