import { BufferGeometry, Float32BufferAttribute, type Material, Mesh } from 'three';
import { type PanelLayout, planPanel } from '../../server/core/picture/panel.ts';
import { createBoardShadow } from './board-shadow.ts';
import { drawRuler } from './draw-ruler.ts';
import { showGloss } from './gloss-band.ts';
import { calibrate } from './grey-card.ts';
import type { Rig, StudioScene } from './studio-scene.ts';
import type { SwatchShape } from './swatch-shape.ts';

/**
 * Seen square on without perspective, the shading is the same all over and edges lie on whole pixels: subsamples only
 * smooth the pattern, which mipmaps have smoothed already.
 */
const SUBSAMPLES = 4;

const RIG: Rig = { light: 'studio', elevationDegrees: 0 };
const METAL_RIG: Rig = { light: 'screen', elevationDegrees: 0 };

/**
 * A flat piece at true scale, upright and square to the camera as the grey card stands: what is matt shows its own
 * value, and the key light strikes it aslant from the left above, so that relief shows. A band along its upper edge shows
 * its gloss (`gloss-band.ts`). Pattern and ruler begin at its left edge. A picture of it is as exact as its pixels: `PanelLayout.pxPerMm`.
 */
export function createPanel(studio: StudioScene): SwatchShape {
  for (const rig of [RIG, METAL_RIG]) calibrate(studio, rig);
  const mesh = new Mesh(new BufferGeometry());
  mesh.frustumCulled = false;
  const shadow = createBoardShadow();
  let layout: PanelLayout = planPanel(1, 1);
  return {
    mesh,
    open: true,
    twoSided: false,
    getSubsamples: () => SUBSAMPLES,
    set({ sizePx, widthMm, flat, metal }) {
      layout = planPanel(sizePx, widthMm);
      const { left, top, widthPx, heightPx, rulerPx, glossPx, pxPerMm } = layout;
      mesh.geometry.dispose();
      mesh.geometry = createPiece(widthPx / pxPerMm / 1000, heightPx / pxPerMm / 1000);
      const metres = 1 / pxPerMm / 1000;
      studio.useRig(metal ? METAL_RIG : RIG);
      studio.turntable.rotation.y = 0;
      studio.frameSquare({ left: -left * metres, top: top * metres, side: sizePx * metres });
      if (!flat) showGloss(mesh.material as Material, { fromM: top * metres, toM: (top + glossPx) * metres });
      shadow.lay([left, top, left + widthPx, top + heightPx + rulerPx], sizePx);
      studio.show(flat ? [mesh] : [shadow.mesh, mesh]);
      studio.light.open();
      studio.catcher.lay(null);
    },
    finish: (rgba) => drawRuler(rgba, layout),
  };
}

/** In metres: its left top corner at the origin, 1 UV = 1 m, u to the right and v downwards as glTF has it. */
function createPiece(width: number, height: number): BufferGeometry {
  const geometry = new BufferGeometry();
  const corners = [0, -height, 0, width, -height, 0, width, 0, 0, 0, 0, 0];
  geometry.setAttribute('position', new Float32BufferAttribute(corners, 3));
  geometry.setAttribute('normal', new Float32BufferAttribute([0, 0, 1, 0, 0, 1, 0, 0, 1, 0, 0, 1], 3));
  geometry.setAttribute('uv', new Float32BufferAttribute([0, height, width, height, width, 0, 0, 0], 2));
  geometry.setIndex([0, 1, 2, 0, 2, 3]);
  return geometry;
}
