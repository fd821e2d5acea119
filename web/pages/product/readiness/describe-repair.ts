import type { Finding } from '../../../../server/core/product/finding.ts';
import type { RevisionOrigin } from '../../../../server/core/product/product.ts';
import type { MaterialReference, Repair, RepairOf } from '../../../../server/core/repair/repair.ts';
import { formatSignificant } from '../../../format.ts';
import { readinessTexts, repairTexts as texts } from '../../../texts/product-readiness.ts';

/** Longer lists of names end in a count of the rest. */
const NAMED = 4;

/** A repair with its settings, as a sentence without full stop. */
export function describeRepair(repair: Repair): string {
  switch (repair.repair) {
    case 'scale':
      return describeScale(repair);
    case 'place':
      return (repair.centred === false ? texts.placeUncentred : texts.placeCentred)(texts.place(repair.mount));
    case 'bake-transforms':
      return texts.bakeTransforms;
    case 'merge-parts':
      return texts.mergeParts;
    case 'separate-pieces': {
      const { material, groups } = repair;
      return texts.separatePieces(nameMaterial(material), groups.length, listNames(groups.map(({ name }) => name)));
    }
    case 'set-nonmetal':
      return repair.materials ? texts.setNonmetal(nameMaterials(repair.materials)) : texts.setAllNonmetal;
    case 'neutral-detail':
      return texts.neutralDetail(repair.materials?.length ?? null, nameMaterials(repair.materials ?? []));
    case 'fit-textures':
      return describeTextures(repair);
    case 'strip-unused':
      return texts.stripUnused;
    case 'rename-materials':
      return texts.rename(listNames(repair.names.map(({ from, to }) => texts.renameOne(nameMaterial(from), to))));
    case 'fix-scene':
      return texts.fixScene;
    case 'unshare-mesh':
      return repair.meshes ? texts.unshareMeshes(listNames(repair.meshes.map(texts.quoted))) : texts.unshareAllMeshes;
    case 'box-uvs': {
      const { materials, metresPerUnit = 1 } = repair;
      const scale = metresPerUnit === 1 ? '' : texts.boxUvScale(formatFigure(metresPerUnit));
      return materials ? texts.boxUvs(nameMaterials(materials), scale) : texts.boxUvsWhereMissing(scale);
    }
    case 'turn-outward':
      if (repair.pieces) return texts.turnPiecesOutward(repair.pieces.length);
      return repair.materials ? texts.turnMaterialsOutward(nameMaterials(repair.materials)) : texts.turnAllOutward;
    case 'turn':
      return texts.turn(repair.axis, repair.degrees, formatFigure(Math.abs(repair.degrees)));
  }
}

function describeScale({ factor, toHeightMm, unit }: RepairOf<'scale'>): string {
  if (toHeightMm !== undefined) return texts.scaleToHeight(formatFigure(toHeightMm));
  const by = factor === undefined ? texts.scale : texts.scaleBy(formatFigure(factor));
  return unit === undefined ? by : `${by}: ${texts.unit(unit)}`;
}

function describeTextures({ sizePx, format, quality, lossyNormals }: RepairOf<'fit-textures'>): string {
  return [
    texts.fitTextures(sizePx ?? 2048),
    format === undefined || format === 'keep' ? '' : texts.textureFormat(format),
    quality === undefined ? '' : texts.textureQuality(quality),
    lossyNormals ? texts.lossyNormals : '',
  ].join('');
}

/** A material by its name in quotation marks, or by its number where the reference is a pointer. */
export function nameMaterial(reference: MaterialReference): string {
  const index = reference.match(/^\/materials\/(\d+)$/)?.[1];
  return index === undefined ? texts.quoted(reference) : texts.unnamedMaterial(index);
}

const nameMaterials = (references: readonly MaterialReference[]) => listNames(references.map(nameMaterial));

const listNames = (names: readonly string[]) => texts.list(names.slice(0, NAMED), names.length - NAMED);

/** Five significant digits, enough for 0.3048 (a foot in metres) and 39.37 (inches in a metre). */
const formatFigure = (value: number) => formatSignificant(value, 5);

/** The origin of a revision: “Received”, or “From revision 1: scaled, placed and parts merged”. */
export function describeOrigin(origin: RevisionOrigin): string {
  if (origin.kind === 'received') return texts.received;
  const done = origin.reports.flatMap(({ outcome, repair }) => (outcome === 'done' ? texts.done[repair.repair] : []));
  const unfit = origin.reports.filter(({ outcome }) => outcome === 'unfit').length;
  const repairs = done.length > 0 ? listNames([...new Set(done)]) : texts.nothingChanged;
  return texts.repairedFrom(origin.from, repairs, unfit);
}

/** The number of findings of each severity: “1 finding blocks delivery, 2 findings to check.” */
export function describeFindings(findings: readonly Finding[]): string {
  if (findings.length === 0) return readinessTexts.noFindings;
  const countOf = (severity: Finding['severity']) => findings.filter((finding) => finding.severity === severity).length;
  return readinessTexts.findingCounts(countOf('error'), countOf('warning'), countOf('note'));
}
