import type { PieceGroup } from '../../../../server/core/repair/repair.ts';
import { count } from '../../../format.ts';
import { Chip } from '../../../parts/chip.tsx';
import { EditText } from '../../../parts/edit-text.tsx';
import { Select } from '../../../parts/select.tsx';
import { sayMaterial } from './describe-repair.ts';
import { joinGroups, renameGroup } from './edit-groups.ts';

interface GroupTableProps {
  readonly groups: readonly PieceGroup[];
  /** The material they are taken out of. */
  readonly material: string;
  readonly disabled: boolean;
  readonly onChange: (groups: PieceGroup[]) => void;
}

/** The groups pieces are separated into: what each slot is called, its colour, and joining one to another. */
export function GroupTable({ groups, material, disabled, onChange }: GroupTableProps) {
  return (
    <div class="scroll">
      <table class="groups">
        <caption class="unseen">Slots the pieces of {sayMaterial(material)} become</caption>
        <thead>
          <tr>
            <th scope="col">Slot</th>
            <th scope="col" class="figure">
              Pieces
            </th>
            {groups.length > 1 && <th scope="col">Is the same slot as</th>}
          </tr>
        </thead>
        <tbody>
          {groups.map((group, at) => (
            <tr key={group.pieces[0] ?? group.name}>
              <th scope="row">
                <span class="named">
                  <Chip hex={group.hex} />
                  <EditText
                    label={`Name of slot ${at + 1}, ${count(group.pieces.length, 'piece')}`}
                    value={group.name}
                    onCommit={(name) => name !== '' && !disabled && onChange(renameGroup(groups, at, name))}
                  />
                </span>
              </th>
              <td class="figure">{group.pieces.length}</td>
              {groups.length > 1 && (
                <td>
                  <Select
                    label={`Join ${group.name} to`}
                    value=""
                    disabled={disabled}
                    options={[
                      ['', 'no other'],
                      ...groups.flatMap(({ name }, other) => (other === at ? [] : [[String(other), name] as const])),
                    ]}
                    onPick={(into) => into !== '' && onChange(joinGroups(groups, at, Number(into)))}
                  />
                </td>
              )}
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}
