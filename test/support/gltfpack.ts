import { pack } from 'gltfpack';

/** Runs gltfpack on a GLB, with quantised coordinates; `-cc` also compresses them. The package runs in this process. */
export async function runGltfpack(glb: Uint8Array, ...args: readonly string[]): Promise<Uint8Array> {
  let packed: Uint8Array | undefined;
  await pack(['-i', 'in.glb', '-o', 'out.glb', ...args], {
    read: () => glb,
    write: (_, bytes) => {
      packed = Uint8Array.from(bytes);
    },
  });
  if (!packed) throw new Error('gltfpack wrote no file');
  return packed;
}
