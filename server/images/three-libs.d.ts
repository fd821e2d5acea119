/** The reader of KTX2 headers that three's loader uses; what is used of it here. */
declare module 'three/examples/jsm/libs/ktx-parse.module.js' {
  export function read(bytes: Uint8Array): { readonly vkFormat: number };
}
