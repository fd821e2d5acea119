import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { materialsByVariant, readGlb, sha256, variantNames } from '../support/glb.ts';
import { addProduct, FINISHES, GLB, putLineOfFinishes } from '../support/job.ts';
import { readRegistryModel } from '../support/registry-models.ts';
import { startService, type TestService } from '../support/start-service.ts';
import { listValidatorErrors } from '../support/validate.ts';

// The main job through HTTP, by the contract: product, model, slots, finishes, line, schedule, delivery, download.
// Models: registry package @webxr-input-profiles/assets 1.0.20 (MIT).

let service: TestService;
beforeAll(async () => {
  service = await startService();
  await putLineOfFinishes(service);
});
afterAll(() => service.close());

describe.each([
  ['TOUCH', 'oculus-touch/left.glb', 2],
  ['Pico.4u', 'pico-4u/left.glb', 8],
] as const)('the whole job on %s (%s)', (code, path, slotCount) => {
  const model = readRegistryModel(path);
  const base = `/api/products/${code}`;
  let slots: string[];
  let delivery: { delivery: number; sha256: string; bytes: number; variants: number };

  it('receives the model unchanged under its SHA-256, with its slots', async () => {
    slots = await addProduct(service, code, model);
    expect(slots).toHaveLength(slotCount);
    for (const slot of slots) expect(slot).toMatch(/^[a-z0-9-]{1,64}$/);
    const stored = await service.call('GET', `${base}/model.glb`);
    expect(sha256(stored.body)).toBe(sha256(model));
    expect(stored.headers.get('etag')).toBe(`"${sha256(model)}"`);
    expect(stored.headers.get('content-type')).toBe('model/gltf-binary');
    const { body } = await service.call('GET', base);
    expect(body.model).toMatchObject({ revision: 1, sha256: sha256(model), bytes: model.length });
    const survey = await service.call('GET', `${base}/survey`);
    expect(survey.body.validator.errors).toBe((await listValidatorErrors(model)).length);
  });

  it('gives one slot a position and fixes another', async () => {
    const first = await service.call('PATCH', `${base}/slots/${slots[0]}`, { position: 'shell', label: 'The shell' });
    expect(first.status).toBe(200);
    expect(first.body).toMatchObject({ slot: slots[0], label: 'The shell', position: 'shell' });
    if (slotCount > 2) {
      for (const slot of slots.slice(2))
        expect((await service.call('PATCH', `${base}/slots/${slot}`, { fixed: true })).body.fixed).toBe(true);
    }
    const listed = await service.call('GET', `${base}/slots`);
    expect(listed.body.slots[0].allowed.map(({ finish }: { finish: string }) => finish)).toEqual(['TARN.3', 'COAL_4']);
    expect(listed.body.slots[1].allowed).toHaveLength(5);
  });

  it('stores a complete schedule and expands it by the options', async () => {
    const [shell, other] = slots as [string, string];
    const given = {
      default: 'first',
      variants: [
        { code: 'SECOND', name: 'Coal and brass', choices: { [shell]: 'coal_4', [other]: 'BRASS-5' } },
        { code: 'FIRST', name: 'Tarn and oak', choices: { [shell]: 'TARN.3', [other]: 'OAK-1' } },
      ],
    };
    const put = await service.call('PUT', `${base}/schedule`, given);
    expect(put.status).toBe(200);
    expect(put.headers.get('etag')).toMatch(/^"[^"]+"$/);
    expect(put.body.default).toBe('FIRST');
    expect(put.body.variants[0].choices).toEqual({ [shell]: 'COAL_4', [other]: 'brass-5' });
    const tag = put.headers.get('etag')!;
    const expanded = await service.call(
      'POST',
      `${base}/schedule/expand`,
      { name: `{${shell}} / {${other}}` },
      { 'if-match': tag },
    );
    expect(expanded.status).toBe(200);
    // two finishes on the shell by five on the other slot, two of which exist already
    expect(expanded.body).toMatchObject({ added: 8, total: 10, default: 'FIRST' });
    expect(expanded.body.variants.slice(0, 2)).toEqual(put.body.variants);
    expect(expanded.body.variants[2].name).toBe('Tarn blue / Pale ash');
    expect((await service.call('POST', `${base}/schedule/expand`, {})).body.added).toBe(0);
  });

  it('refuses an edit with an outdated tag, and loses nothing', async () => {
    const before = await service.call('GET', `${base}/schedule`);
    const { findings: _, ...schedule } = before.body;
    const renamed = structuredClone(schedule);
    renamed.variants[0].name = 'Coal with brass';
    const tag = before.headers.get('etag')!;
    const edited = await service.call('PUT', `${base}/schedule`, renamed, { 'if-match': tag });
    expect(edited.status).toBe(200);
    expect(edited.headers.get('etag')).not.toBe(tag);
    for (const [method, where, body] of [
      ['PUT', '/schedule', schedule],
      ['POST', '/schedule/expand', {}],
    ] as const) {
      const stale = await service.call(method, base + where, body, { 'if-match': tag });
      expect([stale.status, stale.body.code]).toEqual([412, 'stale-schedule']);
    }
    const after = await service.call('GET', `${base}/schedule`);
    expect(after.body.variants[0].name).toBe('Coal with brass');
    expect(after.headers.get('etag')).toBe(edited.headers.get('etag'));
    expect(
      (await service.call('GET', `${base}/schedule`, undefined, { 'if-none-match': after.headers.get('etag')! }))
        .status,
    ).toBe(304);
  });

  it('delivers one file with every variant, numbered, with a manifest', async () => {
    const answer = await service.call('POST', `${base}/deliveries`, {});
    expect(answer.status).toBe(201);
    delivery = answer.body;
    expect(delivery).toMatchObject({ delivery: 1, variants: 10 });
    const { body: manifest } = await service.call('GET', `${base}/deliveries/1/manifest.json`);
    expect(manifest).toMatchObject({
      product: code,
      delivery: 1,
      file: { sha256: delivery.sha256, bytes: delivery.bytes },
      model: { revision: 1, sha256: sha256(model), bytes: model.length },
    });
    expect(manifest.variants).toHaveLength(10);
    const used = new Map(manifest.finishes.map((finish: { finish: string }) => [finish.finish, finish]));
    for (const [finish, { hex }] of Object.entries(FINISHES)) {
      const { revision } = (await service.call('GET', `/api/finishes/${finish}`)).body;
      expect(used.get(finish)).toMatchObject({ revision, hex, specified: { hex } });
    }
    expect(manifest.checks.length).toBeGreaterThan(0);
  });

  it('serves the file with ETag, If-None-Match and ranges', async () => {
    const address = `${base}/deliveries/1/model.glb`;
    const whole = await service.call('GET', address);
    expect(whole.status).toBe(200);
    const tag = whole.headers.get('etag')!;
    expect(tag).toBe(`"${delivery.sha256}"`);
    expect(sha256(whole.body)).toBe(delivery.sha256);
    expect(whole.body).toHaveLength(delivery.bytes);
    expect(whole.headers.get('content-type')).toBe('model/gltf-binary');
    expect(whole.headers.get('x-content-type-options')).toBe('nosniff');
    expect(whole.headers.get('content-security-policy')).toBeTruthy();
    for (const given of [tag, `W/${tag}`, `"other", ${tag}`, '*'])
      expect((await service.call('GET', address, undefined, { 'if-none-match': given })).status).toBe(304);
    expect((await service.call('GET', address, undefined, { 'if-none-match': '"other"' })).status).toBe(200);

    // RFC 9110 §14.1.2 and §14.4: first-last, from a byte on, the last bytes, past the end
    const size = delivery.bytes;
    const ranges: [string, number, number][] = [
      ['bytes=0-11', 0, 12],
      [`bytes=${size - 10}-`, size - 10, size],
      ['bytes=-7', size - 7, size],
      [`bytes=5-${size + 99}`, 5, size],
    ];
    for (const [range, start, end] of ranges) {
      const part = await service.call('GET', address, undefined, { range });
      expect([range, part.status]).toEqual([range, 206]);
      expect(part.headers.get('content-range')).toBe(`bytes ${start}-${end - 1}/${size}`);
      expect(Buffer.compare(part.body, whole.body.subarray(start, end))).toBe(0);
    }
    const past = await service.call('GET', address, undefined, { range: `bytes=${size}-` });
    expect(past.status).toBe(416);
    expect(past.headers.get('content-range')).toBe(`bytes */${size}`);
  });

  it('contains the schedule: names in order, the default first, a material for every slot and finish', async () => {
    const { body } = await service.call('GET', `${base}/deliveries/1/model.glb`);
    const glb = readGlb(body);
    const { body: schedule } = await service.call('GET', `${base}/schedule`);
    expect(variantNames(glb)).toEqual(schedule.variants.map(({ name }: { name: string }) => name));
    const row = schedule.variants.findIndex((variant: { code: string }) => variant.code === schedule.default);
    const source = readGlb(model).json;
    const changed = new Set<string>();
    source.meshes!.forEach((mesh, m) => {
      mesh.primitives.forEach((primitive, p) => {
        const after = glb.json.meshes![m]!.primitives[p]!;
        const materials = materialsByVariant(glb, m, p);
        expect(after.material).toBe(materials[row]);
        if (!after.extensions?.KHR_materials_variants) {
          expect(after.material).toBe(primitive.material);
          expect(glb.json.materials![after.material!]!.name).toBe(source.materials![primitive.material!]!.name);
          return;
        }
        const factors = materials.map((index) => glb.json.materials![index!]!.pbrMetallicRoughness!.baseColorFactor!);
        const slot = slots.find((key) =>
          schedule.variants.every((variant: { choices: Record<string, string> }, v: number) =>
            linear(FINISHES[variant.choices[key]!]?.hex ?? '#000000').every(
              (c, i) => Math.abs(c - factors[v]![i]!) < 1e-6,
            ),
          ),
        );
        expect(slot, `mesh ${m} primitive ${p} wears no slot’s row of finishes`).toBeDefined();
        changed.add(slot!);
      });
    });
    expect([...changed].sort()).toEqual(slots.slice(0, 2).sort());
  });

  // glTF validator 2.0.0-dev.3.10, the whole file
  it('has no validator error that the model did not have', async () => {
    const { body } = await service.call('GET', `${base}/deliveries/1/model.glb`);
    const before = await listValidatorErrors(model);
    expect((await listValidatorErrors(body)).filter((error) => !before.includes(error))).toEqual([]);
  });

  it('delivers the same bytes for the same input, and never changes an earlier delivery', async () => {
    const again = await service.call('POST', `${base}/deliveries`, {});
    expect(again.status).toBe(200);
    expect(again.body).toMatchObject({ delivery: 1, sha256: delivery.sha256, unchanged: true });
    // other content in between, and the first content again
    const byCode = await service.call('POST', `${base}/deliveries`, { names: 'code' });
    expect(byCode.body).toMatchObject({ delivery: 2, unchanged: false });
    const named = await service.call('POST', `${base}/deliveries`, {});
    expect(named.body).toMatchObject({ delivery: 3, sha256: delivery.sha256, bytes: delivery.bytes });
    const change = { name: 'Tarn green', family: 'powder-coat', colour: { hex: '#2f7350' } };
    expect((await service.call('PUT', '/api/finishes/TARN.3', change)).status).toBe(200);
    const { revision } = (await service.call('GET', '/api/finishes/TARN.3')).body;
    const fourth = await service.call('POST', `${base}/deliveries`, { names: 'code' });
    expect(fourth.body.sha256).not.toBe(delivery.sha256);
    const back = { ...change, name: FINISHES['TARN.3']!.name, colour: { hex: FINISHES['TARN.3']!.hex } };
    expect((await service.call('DELETE', '/api/lines/FEN')).status).toBe(409);
    await service.call('PUT', '/api/finishes/TARN.3', back);
    expect(sha256((await service.call('GET', `${base}/deliveries/1/model.glb`)).body)).toBe(delivery.sha256);
    const codes = variantNames(readGlb((await service.call('GET', `${base}/deliveries/4/model.glb`)).body));
    expect(codes.slice(0, 2)).toEqual(['SECOND', 'FIRST']);
    const manifest = await service.call('GET', `${base}/deliveries/4/manifest.json`);
    const tarn = manifest.body.finishes.find((finish: { finish: string }) => finish.finish === 'TARN.3');
    expect(tarn).toMatchObject({ hex: '#2f7350', revision });
    expect(revision).toBeGreaterThan(1);
    const list = await service.call('GET', `${base}/deliveries`);
    expect(list.body.deliveries.map(({ delivery: n }: { delivery: number }) => n).sort()).toEqual([1, 2, 3, 4]);
  });

  it('keeps slots, schedule and deliveries when the model is uploaded again', async () => {
    const before = await service.call('GET', `${base}/slots`);
    const again = await service.call('PUT', `${base}/model`, model, GLB);
    expect([again.status, again.body.revision]).toEqual([201, 2]);
    expect((await service.call('GET', `${base}/slots`)).body).toEqual(before.body);
    expect((await service.call('GET', `${base}/schedule`)).body.variants).toHaveLength(10);
    expect((await service.call('GET', `${base}/deliveries`)).body.deliveries).toHaveLength(4);
  });
});

it('refuses to delete a finish in a schedule, and says where it is used', async () => {
  const answer = await service.call('DELETE', '/api/finishes/oak-1');
  expect([answer.status, answer.body.code]).toEqual([409, 'finish-in-use']);
  expect(JSON.stringify(answer.body)).toContain('TOUCH');
  expect((await service.call('GET', '/api/finishes/OAK-1')).status).toBe(200);
});

it('blocks a delivery with a finish outside the options, with the findings', async () => {
  const { body } = await service.call('GET', '/api/products/TOUCH/schedule');
  const { findings: _, ...schedule } = body;
  const { body: listed } = await service.call('GET', '/api/products/TOUCH/slots');
  schedule.variants[0].choices[listed.slots[0].slot] = 'OAK-1';
  const put = await service.call('PUT', '/api/products/TOUCH/schedule', schedule);
  expect(put.status).toBe(200);
  const blocked = await service.call('POST', '/api/products/TOUCH/deliveries', {});
  expect(blocked.status).toBe(409);
  expect(blocked.body.findings.map(({ code }: { code: string }) => code)).toEqual(['finish-not-in-options']);
  expect((await service.call('GET', '/api/products/TOUCH/readiness')).body.verdict).toBe('blocked');
  expect((await service.call('GET', '/api/products/TOUCH/deliveries')).body.deliveries).toHaveLength(4);
});

/** sRGB hex to linear: IEC 61966-2-1 by W3C css-color-4 conversions.js 064b981. */
function linear(hex: string): number[] {
  return [1, 3, 5].map((at) => {
    const v = Number.parseInt(hex.slice(at, at + 2), 16) / 255;
    return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4;
  });
}
