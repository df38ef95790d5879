//! Workers: processes that answer a line for a line, each driven by a thread.

use std::io::{self, BufRead, BufReader, Write};
use std::num::NonZeroUsize;
use std::path::PathBuf;
use std::process::{Child, ChildStdin, ChildStdout, Command, ExitStatus, Stdio};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc::{Sender, channel};
use std::time::{Duration, Instant};

use serde::{Deserialize, Serialize};

use super::row::Reply;

/// A schedule to compute.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Task {
    /// Its place in the whole list, from 0.
    pub at: usize,
    pub schedule: PathBuf,
    pub output: PathBuf,
    /// The folder for its order forms.
    pub forms: PathBuf,
    /// The files in there that an earlier batch wrote and nobody changed.
    pub earlier: Vec<String>,
}

/// A task's end.
#[derive(Clone, Debug)]
pub struct Ended {
    /// The task's position among the tasks.
    pub task: usize,
    pub reply: Reply,
    pub took: Duration,
}

/// Has the tasks done by so many workers and hands each end to `ended` as it comes. Once `stop`
/// says so no more tasks are begun; those in hand are finished.
pub fn run(
    tasks: &[Task],
    workers: NonZeroUsize,
    command: &(dyn Fn() -> io::Result<Command> + Sync),
    stop: &(dyn Fn() -> bool + Sync),
    mut ended: impl FnMut(Ended),
) {
    let next = AtomicUsize::new(0);
    let work = |sender: &Sender<Ended>| {
        let mut worker = None;
        while !stop() {
            let at = next.fetch_add(1, Ordering::SeqCst);
            let Some(task) = tasks.get(at) else { break };
            let begun = Instant::now();
            let reply = ask(&mut worker, command, task);
            let reply = reply.unwrap_or_else(|why| Reply::died(&why));
            if sender.send(Ended { task: at, reply, took: begun.elapsed() }).is_err() {
                break;
            }
        }
    };
    std::thread::scope(|scope| {
        let (sender, ends) = channel();
        let mut begun = 0;
        for _ in 0..workers.get().min(tasks.len()) {
            let (sender, work) = (sender.clone(), &work);
            let spawned = std::thread::Builder::new().spawn_scoped(scope, move || work(&sender));
            begun += usize::from(spawned.is_ok());
        }
        if begun == 0 {
            // The machine gives no thread.
            work(&sender);
        }
        drop(sender);
        for end in ends {
            ended(end);
        }
    });
}

/// A running worker; it ends when its input does.
struct Worker {
    child: Child,
    input: Option<ChildStdin>,
    output: BufReader<ChildStdout>,
}

impl Drop for Worker {
    fn drop(&mut self) {
        self.input = None;
        let _ = self.child.wait();
    }
}

/// The worker's answer; why there is none, and then no worker any more.
fn ask(
    worker: &mut Option<Worker>,
    command: &(dyn Fn() -> io::Result<Command> + Sync),
    task: &Task,
) -> Result<Reply, String> {
    let mut busy = match worker.take() {
        Some(worker) => worker,
        None => start(command).map_err(|error| format!("no worker could be started: {error}"))?,
    };
    let mut line = serde_json::to_string(task).map_err(|error| error.to_string())?;
    line.push('\n');
    let mut answer = String::new();
    let spoken = busy
        .input
        .as_mut()
        .map_or(Ok(()), |input| input.write_all(line.as_bytes()).and_then(|()| input.flush()))
        .and_then(|()| busy.output.read_line(&mut answer));
    if let (Ok(_), Ok(reply)) = (spoken, serde_json::from_str(&answer)) {
        *worker = Some(busy);
        return Ok(reply);
    }
    busy.input = None;
    Err(busy.child.wait().map_or_else(|error| error.to_string(), how))
}

fn start(command: &(dyn Fn() -> io::Result<Command> + Sync)) -> io::Result<Worker> {
    let mut command = command()?;
    command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::null());
    let mut child = command.spawn()?;
    let missing = || io::Error::other("no pipe to it");
    let input = Some(child.stdin.take().ok_or_else(missing)?);
    let output = BufReader::new(child.stdout.take().ok_or_else(missing)?);
    Ok(Worker { child, input, output })
}

fn how(status: ExitStatus) -> String {
    #[cfg(unix)]
    {
        use std::os::unix::process::ExitStatusExt;
        if let Some(signal) = status.signal() {
            return format!("signal {signal}");
        }
    }
    status.code().map_or_else(|| "it gave no reason".to_owned(), |code| format!("exit code {code}"))
}
