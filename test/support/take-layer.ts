import type { LayerContent, LayersShot, RawLayer, Renderer } from '../../server/core/ports/renderer.ts';

/** One layer by itself. */
export async function takeLayer(
  renderer: Renderer,
  { shows, ...shot }: Omit<LayersShot, 'layers'> & { readonly shows: LayerContent },
): Promise<RawLayer> {
  return (await renderer.takeLayers({ ...shot, layers: [shows] }))[0]!;
}
