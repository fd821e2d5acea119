import type { PlannedResult } from '../../core/delivery/mapping-plan.ts';
import type { MaterialJson, TextureInfoJson } from '../json.ts';

type FinishResult = Extract<PlannedResult, { kind: 'finish' }>;

/** What a part hands on to whatever finish it takes. */
export interface KeptFromPart {
  readonly doubleSided: boolean;
  readonly normalTexture: TextureInfoJson | null;
  readonly occlusionTexture: TextureInfoJson | null;
  readonly alpha: {
    readonly mode: 'MASK' | 'BLEND';
    readonly cutoff: number | undefined;
    readonly factor: number;
    /** Colour map whose alpha shapes the part. */
    readonly texture: TextureInfoJson | null;
  } | null;
}

/** Reads from a source material what belongs to the part, as the slot's `keep` says. */
export function readKept(source: MaterialJson | undefined, { keep }: FinishResult['slot']): KeptFromPart {
  const mode = source?.alphaMode ?? 'OPAQUE';
  const glossy = source?.extensions?.KHR_materials_pbrSpecularGlossiness as
    | { diffuseTexture?: TextureInfoJson; diffuseFactor?: number[] }
    | undefined;
  const pbr = source?.pbrMetallicRoughness;
  return {
    doubleSided: source?.doubleSided ?? false,
    normalTexture: (keep.normal && source?.normalTexture) || null,
    occlusionTexture: (keep.occlusion && source?.occlusionTexture) || null,
    alpha:
      keep.alpha && (mode === 'MASK' || mode === 'BLEND')
        ? {
            mode,
            cutoff: mode === 'MASK' ? source?.alphaCutoff : undefined,
            factor: (glossy?.diffuseFactor ?? pbr?.baseColorFactor)?.[3] ?? 1,
            texture: glossy?.diffuseTexture ?? pbr?.baseColorTexture ?? null,
          }
        : null,
  };
}

/**
 * Puts what belongs to the part onto a finish's material.
 * @param alphaTexture texture that holds the part's alpha under white, when its colour map shapes it
 */
export function applyKept(material: MaterialJson, kept: KeptFromPart, alphaTexture: number | null): void {
  if (kept.doubleSided) material.doubleSided = true;
  if (kept.normalTexture) material.normalTexture = structuredClone(kept.normalTexture);
  if (kept.occlusionTexture) material.occlusionTexture = structuredClone(kept.occlusionTexture);
  if (!kept.alpha) return;
  material.alphaMode = kept.alpha.mode;
  if (kept.alpha.cutoff !== undefined) material.alphaCutoff = kept.alpha.cutoff;
  const pbr = (material.pbrMetallicRoughness ??= {});
  const [r = 1, g = 1, b = 1] = pbr.baseColorFactor ?? [];
  if (kept.alpha.factor !== 1) pbr.baseColorFactor = [r, g, b, kept.alpha.factor];
  if (kept.alpha.texture && alphaTexture !== null) {
    pbr.baseColorTexture = { ...structuredClone(kept.alpha.texture), index: alphaTexture };
  }
}
