import type { RepairName } from '../../core/repair/repair.ts';
import { bakeTransforms } from './bake-transforms.ts';
import { boxUvs } from './box-uvs.ts';
import { fitTextures } from './fit-textures.ts';
import { fixScene } from './fix-scene.ts';
import { mergeParts } from './merge-parts.ts';
import { neutralDetail } from './neutral-detail.ts';
import { place } from './place.ts';
import { renameMaterials } from './rename-materials.ts';
import type { Repairer } from './repairer.ts';
import { scale } from './scale.ts';
import { separatePieces } from './separate-pieces.ts';
import { setNonmetal } from './set-nonmetal.ts';
import { stripUnused } from './strip-unused.ts';
import { turn } from './turn.ts';
import { turnOutward } from './turn-outward.ts';
import { unshareMesh } from './unshare-mesh.ts';

/** Every repair by its name. */
export const REPAIRERS: { readonly [N in RepairName]: Repairer<N> } = {
  scale,
  place,
  'bake-transforms': bakeTransforms,
  'merge-parts': mergeParts,
  'separate-pieces': separatePieces,
  'set-nonmetal': setNonmetal,
  'neutral-detail': neutralDetail,
  'fit-textures': fitTextures,
  'strip-unused': stripUnused,
  'rename-materials': renameMaterials,
  'fix-scene': fixScene,
  'unshare-mesh': unshareMesh,
  'box-uvs': boxUvs,
  'turn-outward': turnOutward,
  turn,
};
