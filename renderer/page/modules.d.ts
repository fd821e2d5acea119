// the package has no types for its decoder in plain script
declare module '*/meshopt_decoder_reference.js' {
  export const MeshoptDecoder: {
    decodeGltfBufferAsync(
      count: number,
      size: number,
      source: Uint8Array,
      mode: string,
      filter?: string,
    ): Promise<Uint8Array>;
  };
}
