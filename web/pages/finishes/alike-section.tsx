import { useSignal } from '@preact/signals';
import { useEffect } from 'preact/hooks';
import type { AlikeAnswer, FinishAnswer } from '../../../server/http/contracts/finish.ts';
import { get, getErrorMessage } from '../../api.ts';
import { Chip } from '../../parts/chip.tsx';
import { Notice } from '../../parts/notice.tsx';
import { Select } from '../../parts/select.tsx';
import type { FinishesModel } from './finishes-model.ts';

/** ΔE00 up to which pairs are looked for: seen by trained eyes only, by most side by side, and at a glance. */
const REACHES = ['0.5', '1', '2', '3'] as const;

/** Pairs of one family, article and gloss whose colours nobody could tell apart. */
export function AlikeSection({ model }: { readonly model: FinishesModel }) {
  const open = useSignal(false);
  const reach = useSignal<(typeof REACHES)[number]>('1');
  const answer = useSignal<AlikeAnswer | null>(null);
  const trouble = useSignal<string | null>(null);
  const finishes = model.finishes.value;
  useEffect(() => {
    if (!open.value) return;
    const asked = reach.value;
    get<AlikeAnswer>(`/api/finishes/indistinguishable?deltaE=${asked}`).then(
      (found) => {
        if (asked !== reach.value) return;
        answer.value = found;
        trouble.value = null;
      },
      (error) => {
        trouble.value = getErrorMessage(error);
      },
    );
    // a finish that was saved or removed changes the pairs
  }, [open.value, reach.value, finishes]);
  const pairs = answer.value?.pairs ?? null;
  return (
    <section class="alike">
      <div class="section-head">
        <h2>Pairs nobody could tell apart</h2>
        <button
          type="button"
          class="no-print"
          aria-expanded={open.value}
          onClick={() => {
            open.value = !open.value;
          }}
        >
          {open.value ? 'Put them away' : 'Look for them'}
        </button>
      </div>
      {open.value && (
        <div class="arrives">
          <p class="measure">
            Finishes of one family, article and gloss, nearer to each other than ΔE00{' '}
            <span class="reach">
              <Select
                label="Nearer than, ΔE00"
                value={reach.value}
                options={REACHES.map((value) => [value, value] as const)}
                onPick={(value) => {
                  reach.value = value;
                }}
              />
            </span>
          </p>
          <Notice text={trouble.value} />
          {pairs?.length === 0 && <p class="soft">There are none: every finish can be told from every other.</p>}
          {pairs && pairs.length > 0 && <PairTable pairs={pairs} finishes={finishes ?? []} onOpen={model.showFinish} />}
        </div>
      )}
    </section>
  );
}

interface PairTableProps {
  readonly pairs: AlikeAnswer['pairs'];
  readonly finishes: readonly FinishAnswer[];
  readonly onOpen: (code: string) => void;
}

function PairTable({ pairs, finishes, onOpen }: PairTableProps) {
  const byCode = new Map(finishes.map((finish) => [finish.finish, finish]));
  return (
    <table>
      <thead>
        <tr>
          <th scope="col">Finish</th>
          <th scope="col">Hardly to be told from</th>
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
