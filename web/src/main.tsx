// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// The page: its frame, and which view stands in it.
import { render } from "preact";
import { useEffect, useRef, useState } from "preact/hooks";
import { api } from "./api";
import { Progress } from "./bits";
import { BriefView } from "./brief";
import { CatalogueView } from "./catalogue";
import { CircuitsView } from "./circuits";
import { DesignView } from "./design";
import { StartView } from "./start";
import { briefOf, hrefOf, jobs, keys, lost, notice, place, pollJobs, type Scheme, scheme, useValue } from "./store";

function SchemeButton() {
  const now = useValue(scheme);
  const next: Record<Scheme, Scheme> = { auto: "light", light: "dark", dark: "auto" };
  return (
    <button type="button" class="quiet" onClick={() => scheme.set(next[now])} title="light, dark, or as the system has it">
      Colours: {now}
    </button>
  );
}

function Tabs() {
  const at = useValue(place);
  const brief = at.view === "design" ? briefOf(at.file) : at.view ? at.file : "";
  const tab = (view: string, file: string, name: string) => (
    <a href={hrefOf(view, file)} aria-current={at.view === view ? "page" : undefined}>
      {name}
    </a>
  );
  return (
    <nav aria-label="Views">
      {tab("", "", "Drivers")}
      {brief && tab("brief", brief, "Brief")}
      {brief && tab("circuits", brief, "Circuits")}
      {at.view === "design" && tab("design", at.file, "Design")}
      {tab("parts", "", "Parts")}
    </nav>
  );
}

function JobStrip() {
  const open = useValue(jobs).filter((j) => j.phase !== "done");
  if (open.length === 0) return null;
  return (
    <section class="jobs" aria-label="Work in progress">
      {open.map((job) => (
        <div key={job.id}>
          <span class="file">{job.file}</span>
          <Progress job={job} />
        </div>
      ))}
    </section>
  );
}

function View() {
  const at = useValue(place);
  const table = useValue(keys);
  if (!table) return <p class="soft">Loading</p>;
  if (at.view === "brief") return <BriefView key={at.file} file={at.file} keys={table} />;
  if (at.view === "circuits") return <CircuitsView key={at.file} file={at.file} />;
  if (at.view === "design") return <DesignView key={at.file} file={at.file} />;
  if (at.view === "parts") return <CatalogueView />;
  return <StartView />;
}

function Notice() {
  const text = useValue(notice);
  useEffect(() => {
    if (!text) return;
    const timer = window.setTimeout(() => notice.set(""), 5000);
    return () => window.clearTimeout(timer);
  }, [text]);
  return (
    <div class="notice" role="status" data-open={text ? "" : undefined}>
      {text}
    </div>
  );
}

function Frame() {
  const [version, setVersion] = useState("");
  const [folder, setFolder] = useState("");
  const gone = useValue(lost);
  const at = useValue(place);
  const main = useRef<HTMLElement>(null);
  useEffect(() => {
    void api.version().then((v) => {
      setVersion(v.version);
      setFolder(v.folder);
    });
    void api.keys().then(keys.set);
    void pollJobs();
  }, []);
  const first = useRef(true);
  useEffect(() => {
    if (!first.current) main.current?.focus();
    first.current = false;
    window.scrollTo(0, 0);
  }, [at.view, at.file]);
  return (
    <>
      <a class="skip" href="#main" onClick={(e) => (e.preventDefault(), main.current?.focus())}>
        To the content
      </a>
      <header class="top">
        <a class="name" href={hrefOf("")} aria-label="Pennybridge, all drivers">
          <img src="/icon.svg" alt="" width="26" height="26" />
          <span>Pennybridge</span>
        </a>
        <Tabs />
        <span class="folder" title={folder}>
          <bdi>{folder}</bdi>
        </span>
        <SchemeButton />
      </header>
      {gone && (
        <p class="lost" role="alert">
          The server does not answer. What was saved is saved; start it again with <code>pennybridge serve</code>.
        </p>
      )}
      <JobStrip />
      <main id="main" ref={main} tabIndex={-1}>
        <View />
      </main>
      <Notice />
      <footer class="bottom">
        <p>
          <strong>Take care.</strong> Use an isolated, current-limited supply with a fuse. Keep clear of moving parts. Parts and motor case
          get hot, most of all at a stalled or holding motor. Capacitors keep their charge. Handle parts against static discharge. The
          result is a calculation, not a certificate; where people can be hurt, local codes and a licensed or competent person decide.
        </p>
        <p class="soft">Pennybridge {version}</p>
      </footer>
    </>
  );
}

const root = document.getElementById("desk");
if (root) {
  root.textContent = "";
  render(<Frame />, root);
}
