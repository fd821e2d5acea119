declare module 'culori' {
  interface Colour {
    mode: string;
    [channel: string]: number | string;
  }
  export function converter(mode: string): (colour: Colour) => Record<string, number>;
  export function parse(text: string): Colour;
  export function differenceCmc(l?: number, c?: number): (a: Colour, b: Colour) => number;
  export function differenceCiede2000(l?: number, c?: number, h?: number): (a: Colour, b: Colour) => number;
}

declare module 'gltfpack' {
  export function pack(
    args: readonly string[],
    files: { read(path: string): Uint8Array; write(path: string, bytes: Uint8Array): void },
  ): Promise<string>;
}

declare module 'draco3dgltf' {
  const draco: {
    createEncoderModule(): Promise<unknown>;
    createDecoderModule(): Promise<unknown>;
  };
  export default draco;
}

declare module 'papaparse' {
  const Papa: {
    parse<Row>(
      text: string,
      options: { readonly header: true; readonly skipEmptyLines: true },
    ): { readonly data: Row[]; readonly errors: readonly unknown[] };
  };
  export default Papa;
}
