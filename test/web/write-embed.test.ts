import { describe, expect, it } from 'vitest';
import { type Embedded, writePage, writePictures, writeViewer } from '../../web/parts/write-embed.ts';

// Markup for a shop's page. Addresses are those of the service's documents; `<picture>`, `srcset` and `sizes`: HTML Standard.

const STOOL: Embedded = {
  origin: 'https://dye.example',
  product: 'QM-S45',
  delivery: 3,
  name: 'Stool "45" <b>',
  variant: 'V 1',
};

describe('the viewer', () => {
  it('is three lines, with the addresses of one delivery', () => {
    const markup = writeViewer(STOOL);
    expect(markup.split('\n')).toHaveLength(3);
    expect(markup).toContain('src="https://dye.example/api/products/QM-S45/deliveries/3/model.glb"');
    expect(markup).toContain('manifest="https://dye.example/api/products/QM-S45/deliveries/3/manifest.json"');
    expect(markup).toContain('/deliveries/3/variants/{code}.usdz"');
  });

  it('follows the newest delivery on request', () => {
    expect(writeViewer({ ...STOOL, delivery: 'current' })).toContain('/deliveries/current/model.glb"');
  });

  it('lets no name end its attribute', () => {
    expect(writePage(STOOL)).not.toContain('<b>');
    expect(writeViewer(STOOL)).toContain('alt="Stool &quot;45&quot; &lt;b&gt;"');
  });
});

it('has a picture in several sizes for pages without script', () => {
  const markup = writePictures(STOOL);
  expect(markup).toMatch(/<source type="image\/webp" sizes="[^"]+" srcset="\S+V%201\.webp\?size=480 480w, /);
  expect(markup).toMatch(/<img src="[^"]+V%201\.jpg\?size=960" sizes=/);
  expect(writePage(STOOL)).toContain(`<noscript>\n${markup}\n</noscript>`);
  expect(writePage(STOOL)).toMatch(/<script type="module"/);
});
