import { createHash } from 'node:crypto';
import { USD_LOSSES, type UsdLoss, type UsdLossCode } from '../../core/delivery/usd-form.ts';
import { PrimNames } from '../../usd/prim-names.ts';
import { PackageTooLarge } from '../../usd/write-package.ts';
import type { LoadedModel } from '../document/read-accessor.ts';
import { findImageBytes } from '../document/stored-bytes.ts';
import { bakeTexture } from './bake-texture.ts';
import type { Material } from './find-slots.ts';
import { type MapUse, type Placement, planSurface, type Surface } from './plan-surface.ts';

/** Textures that the maker holds in memory until they are written, bytes. */
const MOST_TEXTURE_BYTES = 1024 * 1024 * 1024;
/** Materials named with a loss. */
const NAMED = 20;

export interface KnownSurface {
  readonly surface: Surface;
  readonly name: string;
  readonly path: string;
}

/** The materials of a file, each once, with the textures and losses that they bring. */
export class Surfaces {
  readonly #model: LoadedModel;
  readonly #scope: string;
  readonly #names = new PrimNames();
  readonly #known = new Map<string, KnownSurface>();
  readonly #files = new Map<string, string | null>();
  readonly #textures = new Map<string, { readonly name: string; readonly bytes: Uint8Array }>();
  readonly #losses = new Map<UsdLossCode, Set<string>>();
  #bytes = 0;

  constructor(model: LoadedModel, scope: string) {
    this.#model = model;
    this.#scope = scope;
  }

  get all(): readonly KnownSurface[] {
    return [...this.#known.values()];
  }

  get textures(): readonly { readonly name: string; readonly bytes: Uint8Array }[] {
    return [...this.#textures.values()];
  }

  get losses(): readonly UsdLoss[] {
    return USD_LOSSES.flatMap((code) => {
      const materials = this.#losses.get(code);
      return materials ? [{ code, materials: [...materials].sort().slice(0, NAMED) }] : [];
    });
  }

  lose(code: UsdLossCode, material?: string): void {
    const materials = this.#losses.get(code) ?? new Set();
    if (material) materials.add(material);
    this.#losses.set(code, materials);
  }

  /** The surface of a material on parts with or without colours of vertices. Bakes its maps the first time. */
  async take(material: Material, hasColours: boolean): Promise<KnownSurface> {
    const key = `${material}/${hasColours}`;
    const known = this.#known.get(key);
    if (known) return known;
    const surface = planSurface(this.#model.json, material, hasColours);
    const name = this.#names.take(surface.name, 'Material');
    for (const code of surface.losses) this.lose(code, surface.name);
    for (const { map } of surface.inputs) if (map) await this.#bake(map, surface.name);
    const taken = { surface, name, path: `${this.#scope}/${name}` };
    this.#known.set(key, taken);
    return taken;
  }

  /** The path of a map's file in the package; null when none of its images can be read. */
  findFile(map: MapUse): string | null {
    return this.#files.get(keyOf(map)) ?? null;
  }

  async #bake(map: MapUse, material: string): Promise<void> {
    const key = keyOf(map);
    if (!this.#files.has(key)) this.#files.set(key, await this.#makeFile(map, material));
    if (this.#files.get(key) === null) this.lose('unreadable-map', material);
  }

  async #makeFile({ images, recipe }: MapUse, material: string): Promise<string | null> {
    for (const image of images) {
      const bytes = findImageBytes(this.#model, image);
      if (!bytes) continue;
      const baked = await bakeTexture(bytes, recipe).catch(() => null);
      if (!baked) continue;
      if (baked.reduced) this.lose('reduced-map', material);
      const digest = createHash('sha256').update(baked.bytes).digest('hex');
      const known = this.#textures.get(digest);
      if (known) return known.name;
      this.#bytes += baked.bytes.length;
      if (this.#bytes > MOST_TEXTURE_BYTES) throw new PackageTooLarge();
      const name = `textures/${this.#textures.size + 1}.${baked.extension}`;
      this.#textures.set(digest, { name, bytes: baked.bytes });
      return name;
    }
    return null;
  }
}

const keyOf = ({ images, recipe }: MapUse) => JSON.stringify([images, recipe]);

export const placementKey = ({ texCoord, transform }: Placement): string => JSON.stringify([texCoord, transform]);

/** Where the maps of a surface lie, each place once, that of its colour first. */
export function listPlacements({ inputs }: Surface): Placement[] {
  const found = new Map<string, Placement>();
  for (const { map } of inputs) if (map) found.set(placementKey(map.placement), map.placement);
  return [...found].map(([, placement]) => placement);
}

/** Names of primvars for places, in order: most viewers read `st`, and some nothing else. */
export class PrimvarNames {
  readonly #names = new Map<string, string>();

  take(placement: Placement): string {
    const key = placementKey(placement);
    const known = this.#names.get(key);
    if (known) return known;
    const name = this.#names.size === 0 ? 'st' : `st${this.#names.size}`;
    this.#names.set(key, name);
    return name;
  }
}
