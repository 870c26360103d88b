// SPDX-FileCopyrightText: 2026 The Pennybridge authors
// SPDX-License-Identifier: Apache-2.0
//
// Jobs and their answers, as views use them.
import { useEffect, useState } from "preact/hooks";
import { api, type Job, Refusal } from "./api";
import { jobs, pollJobs, useValue } from "./store";

/**
 * Starts a job and has its answer once it is there. With a key the answer is of that question alone,
 * and is found again if the question was asked before, by this page or another.
 */
export function useAnswer<A>(key = "") {
  const list = useValue(jobs);
  const [started, setStarted] = useState<number | null>(null);
  const [got, setGot] = useState<{ id: number; answer: A | null } | null>(null);
  const [refusal, setRefusal] = useState<Refusal | null>(null);
  const isOurs = (j: Job) => !key || j.key === key;
  const job = list.find((j) => j.id === started && isOurs(j)) ?? (key ? list.find((j) => isOurs(j) && j.status !== 130) : undefined);
  const id = job?.id ?? null;
  const start = async (asked: Promise<{ id: number }>) => {
    try {
      setRefusal(null);
      setStarted((await asked).id);
      await pollJobs();
    } catch (e) {
      if (e instanceof Refusal) setRefusal(e);
    }
  };
  useEffect(() => {
    if (id === null || job?.phase !== "done" || got?.id === id) return;
    let stale = false;
    void api.job<A>(id).then((j) => !stale && setGot({ id, answer: j.answer }));
    return () => void (stale = true);
  }, [id, job?.phase]);
  const answer = got && (!key || got.id === id) ? got.answer : null;
  return { start, answer, refusal, job: job && job.phase !== "done" ? job : undefined };
}
