import type { SurveyedMaterial } from '../../../../server/core/product/survey.ts';
import { count, formatNumber } from '../../../format.ts';

/** A surface in m², in cm² where that is the better figure. */
export function formatArea(areaM2: number): string {
  if (areaM2 === 0) return 'nothing';
  if (areaM2 < 0.01) return `${formatFigure(areaM2 * 10_000)} cm²`;
  return `${formatFigure(areaM2)} m²`;
}

/** Three significant figures, without an exponent. */
export function formatFigure(value: number): string {
  if (Math.abs(value) >= 1000) return formatNumber(Math.round(value));
  return String(Number(value.toPrecision(3)));
}

/** “0.84 m²”, “12 pieces”, “4 320 triangles”. */
export function listCover({ areaM2, pieces, triangles }: SurveyedMaterial): string[] {
  return [formatArea(areaM2), count(pieces, 'piece'), count(triangles, 'triangle')];
}

/** Metal and roughness as the factors have them, and what else tells how the material is drawn. */
export function listFactors({ factors, alphaMode, doubleSided }: SurveyedMaterial): string[] {
  const parts = [`metal ${formatFigure(factors.metallic)}`, `roughness ${formatFigure(factors.roughness)}`];
  if (alphaMode !== 'OPAQUE') parts.push(alphaMode === 'MASK' ? 'cut out by alpha' : 'blended by alpha');
  if (doubleSided) parts.push('both sides');
  return parts;
}

/** How the UVs lie, as short statements. */
export function listUvFacts({ uv, lay, metresPerUv, neutralDetail }: SurveyedMaterial): string[] {
  const apart = Math.abs(lay.metresPerU / lay.metresPerV);
  const scale = metresPerUv === null ? [] : [`1 UV unit is ${formatFigure(metresPerUv)} m${sayApart(apart)}`];
  if (!uv) return ['none'];
  return [
    `cover ${share(uv.coverage)} of the square${uv.overlap >= 0.005 ? `, ${share(uv.overlap)} overlap` : ''}${uv.outside >= 0.005 ? `, ${share(uv.outside)} outside it` : ''}`,
    `stretch ${formatFigure(uv.stretch)}`,
    ...(uv.pxPerMm === null ? [] : [`${formatFigure(uv.pxPerMm)} px/mm`]),
    ...scale,
    ...(uv.sizes ? [`a repeat is ${share(uv.sizes.low)} to ${share(uv.sizes.high)} of its size`] : []),
    ...(lay.texCoord > 0 ? [`TEXCOORD_${lay.texCoord}`] : []),
    ...(neutralDetail ? [`neutral detail, mean ${formatFigure(neutralDetail.mean)}`] : []),
  ];
}

/** U and V that differ by a per cent are told apart. */
function sayApart(ratio: number): string {
  if (Math.max(ratio, 1 / ratio) < 1.01) return '';
  return ratio > 1
    ? `, ${formatFigure(ratio)} times as much along U`
    : `, ${formatFigure(1 / ratio)} times as much along V`;
}

const share = (value: number) => `${Math.round(value * 100)} %`;
