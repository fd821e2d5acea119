import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { FinishAnswer, NearIdenticalAnswer } from '../../../server/http/contracts/finish.ts';
import { get, getErrorMessage } from '../../api.ts';
import { Notice, Select } from '../../parts/form.tsx';
import { Chip } from '../../parts/picture.tsx';
import { commonTexts } from '../../texts/common.ts';
import { finishesTexts } from '../../texts/finishes.ts';
import type { FinishesModel } from './finishes-model.ts';

const texts = finishesTexts.similar;

/** Limits of ΔE00: visible to trained eyes, to most people side by side, and at a glance. */
const LIMITS = ['0.5', '1', '2', '3'] as const;

/** Pairs of finishes of one family, article and gloss whose colours are nearly identical. */
export function SimilarSection({ model }: { readonly model: FinishesModel }) {
  const open = useSignal(false);
  const limit = useSignal<(typeof LIMITS)[number]>('1');
  const answer = useSignal<NearIdenticalAnswer | null>(null);
  const problem = useSignal<string | null>(null);
  const finishes = model.finishes.value;
  useEffect(() => {
    if (!open.value) return;
    const asked = limit.value;
    get<NearIdenticalAnswer>(`/api/finishes/indistinguishable?deltaE=${asked}`).then(
      (found) => {
        if (asked !== limit.value) return;
        answer.value = found;
        problem.value = null;
      },
      (error) => {
        problem.value = getErrorMessage(error);
      },
    );
    // finishes are a dependency because saving or deleting one changes the pairs
  }, [open.value, limit.value, finishes]);
  const pairs = answer.value?.pairs ?? null;
  return (
    <section class={open.value ? 'alike' : 'alike no-print'}>
      <div class="section-head">
        <h2>{texts.heading}</h2>
        <button
          type="button"
          class="no-print"
          aria-expanded={open.value}
          onClick={() => {
            open.value = !open.value;
          }}
        >
          {open.value ? texts.hide : texts.find}
        </button>
      </div>
      {open.value && (
        <div class="arrives">
          <p class="measure">
            {texts.intro}{' '}
            <span class="reach">
              <Select
                label={texts.limit}
                value={limit.value}
                options={LIMITS.map((value) => [value, value] as const)}
                onPick={(value) => {
                  limit.value = value;
                }}
              />
            </span>
          </p>
          <Notice text={problem.value} />
          {pairs?.length === 0 && <p class="soft">{texts.none}</p>}
          {pairs && pairs.length > 0 && <PairTable pairs={pairs} finishes={finishes ?? []} onOpen={model.showFinish} />}
        </div>
      )}
    </section>
  );
}

interface PairTableProps {
  readonly pairs: NearIdenticalAnswer['pairs'];
  readonly finishes: readonly FinishAnswer[];
  readonly onOpen: (code: string) => void;
}

function PairTable({ pairs, finishes, onOpen }: PairTableProps) {
  const byCode = new Map(finishes.map((finish) => [finish.finish, finish]));
  return (
    <table>
      <thead>
        <tr>
          <th scope="col">{commonTexts.finish}</th>
          <th scope="col">{texts.similarFinish}</th>
          <th scope="col" class="figure">
            ΔE00
          </th>
        </tr>
      </thead>
      <tbody>
        {pairs.map(({ finishes: [a, b], deltaE }) => (
          <tr key={`${a} ${b}`}>
            {[a, b].map((code) => (
              <td key={code}>
                <Chip hex={byCode.get(code)?.resolved.hex} />{' '}
                <button type="button" onClick={() => onOpen(code)}>
                  {byCode.get(code)?.name ?? code}
                </button>{' '}
                <small class="soft code">{code}</small>
              </td>
            ))}
            <td class="figure">{deltaE.toFixed(2)}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}
