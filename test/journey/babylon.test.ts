import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { addProduct, FINISHES, putLineOfFinishes } from '../support/job.ts';
import { openInBabylon } from '../support/open-in-babylon.ts';
import { readRegistryModel } from '../support/registry-models.ts';
import { startService, type TestService } from '../support/start-service.ts';

// An independent engine, Babylon.js 9.35 with its NullEngine, reads the delivered file. It shows the same variants and,
// on every mesh after each choice, the finish of the schedule. Models: @webxr-input-profiles/assets 1.0.20 (MIT).

let service: TestService;
beforeAll(async () => {
  service = await startService();
  await putLineOfFinishes(service);
});
afterAll(() => service.close());

describe.each([
  ['GO', 'oculus-go/none.glb', 1],
  ['TOUCH', 'oculus-touch/left.glb', 0],
  ['PICO', 'pico-4u/left.glb', 5],
  ['HAND', 'generic-hand/left.glb', 0],
] as const)('%s (%s) in Babylon.js', (code, path, fixed) => {
  it('lists the same variants and shows every mesh as in the schedule', async () => {
    const model = readRegistryModel(path);
    const slots = await addProduct(service, code, model);
    for (const slot of slots.slice(slots.length - fixed))
      await service.call('PATCH', `/api/products/${code}/slots/${slot}`, { fixed: true });
    const changing = slots.slice(0, slots.length - fixed);
    const codes = Object.keys(FINISHES);
    const variants = codes.map((_, row) => ({
      code: `ROW-${row}`,
      name: `Row ${row} of ${code}`,
      choices: Object.fromEntries(changing.map((slot, column) => [slot, codes[(row + column) % codes.length]!])),
    }));
    const put = await service.call('PUT', `/api/products/${code}/schedule`, { default: 'ROW-2', variants });
    expect(put.status).toBe(200);
    expect((await service.call('POST', `/api/products/${code}/deliveries`, {})).status).toBe(201);
    const { body } = await service.call('GET', `/api/products/${code}/deliveries/1/model.glb`);

    // the slot of a mesh, by its material in the source
    const arrived = await openInBabylon(model);
    const { body: listed } = await service.call('GET', `/api/products/${code}/slots`);
    const slotOf = new Map<string, string>(
      listed.slots.map(({ slot, materials }: { slot: string; materials: string[] }) => [materials[0], slot]),
    );
    const before = new Map(arrived.list().map((worn) => [worn.pointer, worn]));
    arrived.close();

    const opened = await openInBabylon(body);
    expect([...opened.variants]).toEqual(variants.map(({ name }) => name));
    expect(
      opened
        .list()
        .map(({ pointer }) => pointer)
        .sort(),
    ).toEqual([...before.keys()].sort());
    const expectRow = (row: number) => {
      for (const { pointer, albedo, metallic } of opened.list()) {
        const original = before.get(pointer)!;
        const finish = variants[row]!.choices[slotOf.get(original.material)!];
        const wanted = finish ? linear(FINISHES[finish]!.hex) : original.albedo;
        wanted.forEach((value, channel) => {
          expect(albedo[channel], `${pointer} in row ${row}`).toBeCloseTo(value, 6);
        });
        if (finish) expect(metallic).toBe(FINISHES[finish]!.family === 'bare-metal' ? 1 : 0);
      }
    };
    expectRow(2); // the default, before any choice
    for (const row of [0, 1, 2, 3, 4, 1]) {
      opened.select(variants[row]!.name);
      expectRow(row);
    }
    opened.close();
  });
});

/** sRGB hex to linear: IEC 61966-2-1 by W3C css-color-4 conversions.js 064b981. */
function linear(hex: string): number[] {
  return [1, 3, 5].map((at) => {
    const v = Number.parseInt(hex.slice(at, at + 2), 16) / 255;
    return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
  });
}
