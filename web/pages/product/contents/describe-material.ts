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
export function listUvFacts({ uv, metresPerUv, neutralDetail }: SurveyedMaterial): string[] {
  const scale = metresPerUv === null ? [] : [`1 UV unit is ${formatFigure(metresPerUv)} m`];
  if (!uv) return ['none'];
  return [
    `cover ${share(uv.coverage)} of the square${uv.overlap >= 0.005 ? `, ${share(uv.overlap)} overlap` : ''}${uv.outside >= 0.005 ? `, ${share(uv.outside)} outside it` : ''}`,
    `stretch ${formatFigure(uv.stretch)}`,
    ...(uv.pxPerMm === null ? [] : [`${formatFigure(uv.pxPerMm)} px/mm`]),
    ...scale,
    ...(neutralDetail ? [`neutral detail, mean ${formatFigure(neutralDetail.mean)}`] : []),
  ];
}

const share = (value: number) => `${Math.round(value * 100)} %`;
