import sharp from 'sharp';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { startService, type TestService } from '../support/start-service.ts';

let service: TestService;
beforeAll(async () => {
  service = await startService({ DYEWORKS_DEMO: 'on' });
  await service.filled;
});
afterAll(() => service.close());

const path = '/api/products/QM-S45/picture';
const choice = 'choice=seat:FEL-142&choice=piping:FEL-142';

it('states pixels per millimetre, in agreement with the picture itself', async () => {
  const { body } = await service.call('GET', `${path}.json?${choice}&view=front&size=512`);
  const picture = await service.call('GET', `${path}.png?${choice}&view=front&size=512&ground=white`);
  const { info } = await sharp(Buffer.from(picture.body))
    .trim({ background: '#ffffff', threshold: 80 })
    .toBuffer({ resolveWithObject: true });
  const product = (await service.call('GET', '/api/products/QM-S45')).body;
  // perspective and the dark core of the shadow explain a difference of a tenth
  expect(info.height / product.size.heightMm / body.pxPerMm).toBeGreaterThan(0.9);
  expect(info.height / product.size.heightMm / body.pxPerMm).toBeLessThan(1.1);
});

it('warns of a weave finer than two pixels per thread, until the picture is large enough', async () => {
  const small = (await service.call('GET', `${path}.json?${choice}&size=512`)).body;
  expect(small.findings.map(({ code, where }: { code: string; where: string }) => [code, where])).toEqual([
    ['moire', 'slot seat'],
    ['moire', 'slot piping'],
  ]);
  const needed = small.findings[0].expected.pxPerMm / small.pxPerMm;
  // the linen has ten threads per centimetre: a thread is 1 mm and needs 2 px
  expect(small.findings[0].expected.pxPerMm).toBeCloseTo(2, 9);
  const large = (await service.call('GET', `${path}.json?${choice}&size=${Math.ceil(512 * needed) + 1}`)).body;
  expect(large.findings).toEqual([]);
});

it('is refused where the picture is', async () => {
  const forbidden = await service.call('GET', `${path}.json?choice=seat:HLT-410&choice=piping:FEL-142`);
  expect([forbidden.status, forbidden.body.code]).toEqual([409, 'choice-forbidden']);
});
