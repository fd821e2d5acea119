import { type Glb, readImage, sha256 } from './glb.ts';

/**
 * A material's JSON with every texture reference replaced by its content: the digests of the images, the sampler, the
 * texture's own fields; null is glTF's default material. Two materials with equal results look the same.
 */
export function resolveMaterial(glb: Glb, index: number | undefined): unknown {
  if (index === undefined) return null;
  return visit(glb, glb.json.materials![index]!);
}

function visit(glb: Glb, value: unknown): unknown {
  if (Array.isArray(value)) return value.map((item) => visit(glb, item));
  if (typeof value !== 'object' || value === null) return value;
  return Object.fromEntries(
    Object.entries(value).map(([key, child]) => {
      if (key === 'extras') return [key, child];
      const index = (child as { index?: unknown } | null)?.index;
      const seen = visit(glb, child);
      const isTexture = /texture$/i.test(key) && typeof index === 'number';
      return [key, isTexture ? { ...(seen as object), index: resolveTexture(glb, index) } : seen];
    }),
  );
}

function resolveTexture(glb: Glb, index: number): unknown {
  const { source, sampler, extensions, ...more } = glb.json.textures![index]!;
  const digest = (image: number) => sha256(readImage(glb, image)!);
  return {
    ...more,
    source: source === undefined ? null : digest(source),
    sampler: sampler === undefined ? null : glb.json.samplers![sampler],
    extensions: Object.entries(extensions ?? {}).map(([name, { source, ...rest }]) => [
      name,
      rest,
      typeof source === 'number' ? digest(source) : null,
    ]),
  };
}
