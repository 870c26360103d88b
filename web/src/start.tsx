// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The first view: what is in the folder, and ways to begin.
import { useEffect, useState } from "preact/hooks";
import { api, type Example, type Folder, Refusal } from "./api";
import { Mark, Problems, Section } from "./bits";
import { money } from "./format";
import { goTo, hrefOf, jobs, useValue } from "./store";

export function StartView() {
  const [folder, setFolder] = useState<Folder | null>(null);
  const [refusal, setRefusal] = useState<Refusal | null>(null);
  const busy = useValue(jobs).filter((j) => j.phase !== "done").length;
  const load = () => api.folder().then(setFolder, setRefusal);
  useEffect(() => void load(), [busy]);
  const begin = (example: string) =>
    api.start(example).then((made) => goTo(made.kind === "brief" ? "brief" : "design", made.file), setRefusal);
  useEffect(() => {
    document.title = "Pennybridge desk";
  }, []);
  if (!folder) return refusal ? <Problems list={refusal.problems} /> : <p class="soft">Loading</p>;
  const empty = folder.briefs.length + folder.designs.length === 0;
  return (
    <>
      <h1>Drivers</h1>
      <p class="lead">
        From what a motor must do to the cheapest transistor driver proven to do it: open a brief, let the parts be searched, look at the
        proof.
      </p>
      {refusal && <Problems list={refusal.problems} />}
      <div class="start">
        <Section id="here" title="In this folder">
          {empty ? (
            <p>Nothing yet. Take an example, or an empty brief.</p>
          ) : (
            <ul class="rows">
              {folder.briefs.map((b) => (
                <li key={b.file}>
                  <div>
                    <a href={hrefOf("brief", b.file)}>{b.title}</a>
                    <span class="soft file">{b.file}</span>
                  </div>
                  <div class="state">
                    {b.problems > 0 ? (
                      <span class="soft">
                        {b.problems} {b.problems === 1 ? "entry" : "entries"} to mend
                      </span>
                    ) : b.result && b.result.landed_cost !== undefined ? (
                      <>
                        <a href={hrefOf("circuits", b.file)}>
                          {money(b.result.landed_cost, b.result.currency)} <span class="soft">a board{b.result.is_chip && ", a chip"}</span>
                        </a>
                        {b.result.stale && <span class="tag">older than the brief</span>}
                      </>
                    ) : b.result ? (
                      <Mark passes={false} />
                    ) : (
                      <span class="soft">not searched yet</span>
                    )}
                  </div>
                </li>
              ))}
              {folder.designs.map((d) => (
                <li key={d.file}>
                  <div>
                    <a href={hrefOf("design", d.file)}>{d.title}</a>
                    <span class="soft file">{d.file}</span>
                  </div>
                  <span class="soft">design</span>
                </li>
              ))}
            </ul>
          )}
          <p>
            <button type="button" onClick={() => begin("")}>
              Empty brief
            </button>
          </p>
        </Section>
        <Section id="examples" title="Examples to begin with">
          <ul class="cards">
            {folder.examples.map((e) => (
              <ExampleCard key={e.name} example={e} begin={begin} />
            ))}
          </ul>
        </Section>
      </div>
    </>
  );
}

function ExampleCard({ example, begin }: { example: Example; begin: (name: string) => void }) {
  return (
    <li>
      <button type="button" class="card" onClick={() => begin(example.name)}>
        <strong>{example.title}</strong>
        <span class="tag">{example.kind}</span>
        <span>{example.about}</span>
      </button>
    </li>
  );
}
