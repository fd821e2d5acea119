import { type Signal, useSignal } from '@preact/signals';
import { useEffect, useMemo } from 'preact/hooks';
import { type LineGrant, ROLES, type Role } from '../../../server/core/access/role.ts';
import type { PersonAnswer } from '../../../server/http/contracts/access.ts';
import { ColumnHeads } from '../../parts/column-heads.tsx';
import { Field, Notice, Select } from '../../parts/form.tsx';
import { Heading } from '../../parts/shell.tsx';
import { accessTexts } from '../../texts/access.ts';
import { AuditSection } from './audit-section.tsx';
import { Credentials } from './credentials.tsx';
import { createPeopleModel, type PeopleModel } from './people-model.ts';

const texts = accessTexts.people;
const ROLE_OPTIONS = ROLES.map((role) => [role, accessTexts.roles[role]] as const);

/** The people who can sign in, for owners; and the audit. */
export function PeoplePage() {
  const model = useMemo(createPeopleModel, []);
  useEffect(() => void model.load(), [model]);
  const people = model.people.value;
  const link = model.link.value;
  return (
    <>
      <div class="title-line">
        <Heading text={texts.heading} />
        <p class="soft">{texts.intro}</p>
        <p class="soft small" role="status">
          {model.outcome.value}
        </p>
      </div>
      <Notice text={model.problem.value} />
      <Notice text={link && texts.link(link.name)}>
        <code>{link?.url}</code>
      </Notice>
      {people && (
        <section class="access">
          {people.length === 0 && <p class="measure">{texts.first}</p>}
          {people.length > 0 && (
            <div class="scroll">
              <table>
                <ColumnHeads names={[texts.name, texts.account, texts.role, texts.lines, texts.state]} />
                <tbody>
                  {people.map((person) => (
                    <PersonRow key={person.account} model={model} person={person} />
                  ))}
                </tbody>
              </table>
            </div>
          )}
          <NewPerson model={model} isFirst={people.length === 0} />
        </section>
      )}
      {people && <AuditSection model={model} />}
    </>
  );
}

function PersonRow({ model, person }: { readonly model: PeopleModel; readonly person: PersonAnswer }) {
  const open = model.open.value === person.account;
  const lines = person.lines.map(({ line, role }) => texts.lineRole(line, accessTexts.roles[role]));
  return (
    <>
      <tr>
        <th scope="row">
          <button type="button" aria-expanded={open} onClick={() => void model.toggle(person.account)}>
            {person.name}
          </button>
        </th>
        <td class="code">{person.account}</td>
        <td>{accessTexts.roles[person.role]}</td>
        <td>{lines.join(', ') || texts.noLines}</td>
        <td>{person.disabled ? texts.disabled : person.hasPassphrase ? texts.active : texts.noPassphrase}</td>
      </tr>
      {open && (
        <tr class="opened no-print">
          <td colSpan={5}>
            <PersonFields model={model} person={person} />
            {model.credentials.value && (
              <Credentials of={model.credentials.value} onDelete={(path) => void model.remove(person, path)} />
            )}
          </td>
        </tr>
      )}
    </>
  );
}

function PersonFields({ model, person }: { readonly model: PeopleModel; readonly person: PersonAnswer }) {
  const name = useSignal(person.name);
  const role = useSignal<Role>(person.role);
  const lines = useSignal<readonly LineGrant[]>(person.lines);
  const free = model.lines.value.filter((line) => !lines.value.some((each) => each.line === line));
  return (
    <form
      class="form"
      onSubmit={(event) => {
        event.preventDefault();
        void model.change(person, { name: name.value, role: role.value, lines: [...lines.value] });
      }}
    >
      <Field name={texts.name}>
        <input
          value={name.value}
          required
          maxLength={120}
          onInput={(event) => {
            name.value = event.currentTarget.value;
          }}
        />
      </Field>
      <RoleField role={role} />
      {lines.value.map((grant) => (
        <div class="actions whole" key={grant.line}>
          <span>{grant.line}</span>
          <Select
            label={texts.lineRole(grant.line, texts.role)}
            value={grant.role}
            options={ROLE_OPTIONS.filter(([each]) => each === 'editor' || each === 'approver')}
            onPick={(picked) => {
              lines.value = lines.value.map((each) =>
                each === grant ? { ...grant, role: picked as LineGrant['role'] } : each,
              );
            }}
          />
          <button
            type="button"
            onClick={() => {
              lines.value = lines.value.filter((each) => each !== grant);
            }}
          >
            {texts.removeLine(grant.line)}
          </button>
        </div>
      ))}
      {free.length > 0 && (
        <Field name={texts.addLine}>
          <Select
            label={texts.addLine}
            value=""
            options={[['', ''], ...free.map((line) => [line, line] as const)]}
            onPick={(line) => {
              if (line !== '') lines.value = [...lines.value, { line, role: 'editor' }];
            }}
          />
        </Field>
      )}
      <div class="actions whole">
        <button type="submit">{texts.save}</button>
        <button type="button" onClick={() => void model.makeLink(person)}>
          {texts.makeLink}
        </button>
        <button type="button" onClick={() => void model.change(person, { disabled: !person.disabled })}>
          {person.disabled ? texts.enable : texts.disable}
        </button>
      </div>
    </form>
  );
}

function NewPerson({ model, isFirst }: { readonly model: PeopleModel; readonly isFirst: boolean }) {
  const role = useSignal<Role>(isFirst ? 'owner' : 'viewer');
  return (
    <form
      class="form"
      onSubmit={async (event) => {
        event.preventDefault();
        const form = event.currentTarget;
        const read = (name: string) => (form.elements.namedItem(name) as HTMLInputElement).value.trim();
        await model.add({ name: read('name'), account: read('account'), role: role.value });
        if (model.problem.value === null) form.reset();
      }}
    >
      <Field name={texts.name}>
        <input name="name" required maxLength={120} autocomplete="off" />
      </Field>
      <Field name={texts.account}>
        <input name="account" required maxLength={64} autocomplete="off" spellcheck={false} />
      </Field>
      <RoleField role={role} />
      <div class="actions whole">
        <button type="submit">{texts.add}</button>
      </div>
    </form>
  );
}

function RoleField({ role }: { readonly role: Signal<Role> }) {
  return (
    <>
      <Field name={texts.role}>
        <Select
          label={texts.role}
          value={role.value}
          options={ROLE_OPTIONS}
          onPick={(picked) => {
            role.value = picked;
          }}
        />
      </Field>
      <p class="soft small whole">{accessTexts.roleHints[role.value]}</p>
    </>
  );
}
