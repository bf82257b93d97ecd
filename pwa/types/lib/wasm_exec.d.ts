/** Go's own way of starting a wasm, as its toolchain gives it. */
export class Go {
  importObject: WebAssembly.Imports;
  exited: boolean;
  exit: (code: number) => void;
  run(instance: WebAssembly.Instance): Promise<void>;
}
