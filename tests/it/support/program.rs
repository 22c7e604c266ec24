//! The program itself, run as somebody at a terminal would.
use std::process::Command;

use thrumhall::store::Store;

/// What a run of the program came to.
#[derive(Debug)]
pub struct Ran {
    pub code: Option<i32>,
    pub out: String,
    pub err: String,
}

/// Runs a command of the program to its end.
pub fn thrumhall(arguments: &[&str]) -> Ran {
    thrumhall_with(&[], arguments)
}

/// The same with these variables.
pub fn thrumhall_with(variables: &[(&str, &str)], arguments: &[&str]) -> Ran {
    let mut command = Command::new(env!("CARGO_BIN_EXE_thrumhall"));
    command.args(arguments).env_remove("DATABASE_URL").envs(variables.iter().copied());
    let ran = command.output().unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    Ran { code: ran.status.code(), out: text(ran.stdout), err: text(ran.stderr) }
}

/// What names a test's database to the program.
pub fn database(store: &Store) -> [String; 2] {
    match store {
        Store::Sqlite(pool) => {
            let file = pool.connect_options().get_filename().to_path_buf();
            ["--data".into(), file.parent().unwrap().to_str().unwrap().into()]
        }
        Store::Pg(pool) => {
            let server = super::database::server();
            let (base, _) = server.rsplit_once('/').unwrap();
            let name = pool.connect_options().get_database().unwrap().to_owned();
            ["--database-url".into(), format!("{base}/{name}")]
        }
    }
}

impl Ran {
    pub fn lines(&self) -> Vec<&str> {
        self.out.lines().collect()
    }
}
