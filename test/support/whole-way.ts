import type { Answer, TestService } from './start-service.ts';

interface WholeWay {
  readonly steps: readonly { readonly step: string; readonly status: number; readonly code: string | null }[];
  /** Faults: an answer of 5xx, a refusal without a code, a list of products that no longer answers. */
  readonly faults: readonly string[];
}

/** Two finishes that a model's slots use in turn; stored once per service. */
const TRIED = { 'TRY-A': ['paint', '#a02c2c'], 'TRY-B': ['wood', '#b58a5a'] } as const;

export async function putTriedFinishes(service: TestService): Promise<void> {
  for (const [code, [family, hex]] of Object.entries(TRIED)) {
    await service.call('PUT', `/api/finishes/${code}`, { name: code, family, colour: { hex } });
  }
}

/**
 * Takes a model through everything: upload, every answer about it, slots, a schedule of two variants, delivery and, on
 * request, a preview of all proposed repairs and one small picture. It expects only that each call gets an answer, and
 * that the list of products still works.
 */
export async function goWholeWay(
  service: TestService,
  code: string,
  model: Uint8Array,
  mediaType: string,
  { picture = false, repairs = false }: { readonly picture?: boolean; readonly repairs?: boolean },
): Promise<WholeWay> {
  const steps: { step: string; status: number; code: string | null }[] = [];
  const faults: string[] = [];
  const ask = async (step: string, method: string, path: string, body?: unknown, type?: string): Promise<Answer> => {
    const answer = await service.call(method, path, body, type ? { 'content-type': type } : {});
    const said = (answer.body as { code?: string } | null)?.code ?? null;
    steps.push({ step, status: answer.status, code: answer.status < 400 ? null : said });
    if (answer.status >= 500 || (answer.status >= 400 && !said)) {
      faults.push(`${step} ${answer.status} ${said} ${(answer.body as { detail?: string } | null)?.detail ?? ''}`);
    }
    return answer;
  };
  const base = `/api/products/${code}`;
  await ask('add', 'POST', '/api/products', { code, name: `Model ${code}` });
  const received = await ask('upload', 'PUT', `${base}/model`, model, mediaType);
  await ask('products', 'GET', '/api/products');
  if (received.status === 201) {
    await ask('product', 'GET', base);
    const survey = await ask('survey', 'GET', `${base}/survey?pieces=1`);
    const size = (survey.body as { size?: Record<string, unknown> | null }).size;
    if (size && !Object.values(size).every(Number.isFinite)) faults.push(`size ${JSON.stringify(size)}`);
    const readiness = await ask('readiness', 'GET', `${base}/readiness`);
    const { proposals = [] } = readiness.body as { proposals?: unknown[] };
    if (repairs && proposals.length > 0) {
      await ask('repair', 'POST', `${base}/repairs?preview=1`, { repairs: proposals });
    }
    const slots = await ask('slots', 'GET', `${base}/slots`);
    const keys = ((slots.body as { slots?: { slot: string }[] }).slots ?? []).map(({ slot }) => slot);
    if (keys.length > 0) await dress(keys);
  }
  await ask('remove', 'DELETE', base);
  return { steps, faults };

  async function dress(keys: readonly string[]): Promise<void> {
    const finishes = Object.keys(TRIED);
    const variants = [0, 1].map((row) => ({
      code: `V${row}`,
      name: `Look ${'AB'[row]}`,
      choices: Object.fromEntries(keys.map((key, column) => [key, finishes[(row + column) % 2]])),
    }));
    await ask('schedule', 'PUT', `${base}/schedule`, { default: 'V0', variants });
    await ask('deliver', 'POST', `${base}/deliveries`, {});
    await ask('deliveries', 'GET', `${base}/deliveries`);
    if (picture) await ask('picture', 'GET', `${base}/pictures/V1.png?size=64`);
  }
}
