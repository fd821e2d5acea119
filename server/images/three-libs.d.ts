/** The part that Dyeworks uses of the reader of KTX2 headers in three's loader. */
declare module 'three/examples/jsm/libs/ktx-parse.module.js' {
  export function read(bytes: Uint8Array): { readonly vkFormat: number };
}
