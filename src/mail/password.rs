//! The mail password, from a file or a systemd credential.
//!
//! Promises a secret that no log shows, and an error that names the file and the mend. Turned down: the password in
//! `dawnpack.toml`, which people copy, mail and keep under version control; and in the environment, which every
//! child process inherits.

use std::fmt;
use std::fs::File;
use std::io::{self, Read as _};
use std::path::{Component, Path, PathBuf};

/// A secret that no log shows.
#[derive(Clone, PartialEq, Eq)]
pub struct Password(String);

impl Password {
    /// For the login only.
    pub(super) fn reveal(&self) -> &str {
        &self.0
    }
}

impl fmt::Debug for Password {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Password(…)")
    }
}

/// Why there is no password.
#[derive(Debug, thiserror::Error)]
pub enum PasswordError {
    /// A bare name without a credentials directory.
    #[error(
        "`{0}` is a credential's name, and the service was given none; give `password_file` as a whole path, or add LoadCredential={0}:/path to the unit"
    )]
    NoCredentials(String),
    /// Neither a whole path nor a bare name.
    #[error("`{0}` is neither a whole path nor a bare name; write `password_file` from the root, as /…")]
    NotWhole(PathBuf),
    /// The file can't be read.
    #[error("the password file `{path}` can't be read: {why}; check `password_file` in dawnpack.toml")]
    Unreadable {
        /// Which file.
        path: PathBuf,
        /// What the system said.
        why: io::Error,
    },
    /// Everybody may read it.
    #[error("everybody may read the password file `{0}`; run chmod o= on it")]
    Open(PathBuf),
    /// Nothing in it.
    #[error("the password file `{0}` is empty; write the mail password into it")]
    Empty(PathBuf),
}

/// Reads the password from `file`: a whole path, or the bare name of a credential in `credentials`
/// (`$CREDENTIALS_DIRECTORY`, see systemd.exec(5)). A line break at the end is no part of it.
///
/// # Errors
/// [`PasswordError`], with the mend.
pub fn read_password(file: &Path, credentials: Option<&Path>) -> Result<Password, PasswordError> {
    let mut parts = file.components();
    let path = match (parts.next(), parts.next()) {
        _ if file.is_absolute() => file.to_owned(),
        (Some(Component::Normal(_)), None) => {
            credentials.ok_or_else(|| PasswordError::NoCredentials(file.display().to_string()))?.join(file)
        }
        (_, _) => return Err(PasswordError::NotWhole(file.to_owned())),
    };
    let unreadable = |why| PasswordError::Unreadable { path: path.clone(), why };
    let mut opened = File::open(&path).map_err(unreadable)?;
    // A credentials directory is guarded by systemd itself.
    if file.is_absolute() && is_open_to_all(&opened).map_err(unreadable)? {
        return Err(PasswordError::Open(path));
    }
    let mut text = String::new();
    opened.read_to_string(&mut text).map_err(unreadable)?;
    let secret = text.trim_end_matches(['\r', '\n']);
    if secret.is_empty() {
        return Err(PasswordError::Empty(path));
    }
    Ok(Password(secret.to_owned()))
}

/// The group may read it: that is how a file of root's is lent to a service.
#[cfg(unix)]
fn is_open_to_all(file: &File) -> io::Result<bool> {
    use std::os::unix::fs::PermissionsExt as _;
    Ok(file.metadata()?.permissions().mode() & 0o007 != 0)
}

#[cfg(not(unix))]
fn is_open_to_all(file: &File) -> io::Result<bool> {
    file.metadata().map(|_| false)
}

#[cfg(unix)]
#[cfg(test)]
mod tests {
    use std::fs::{self, Permissions};
    use std::os::unix::fs::PermissionsExt as _;

    use super::*;

    fn file(dir: &tempfile::TempDir, contents: &[u8], mode: u32) -> PathBuf {
        let file = dir.path().join("pw");
        fs::write(&file, contents).unwrap();
        fs::set_permissions(&file, Permissions::from_mode(mode)).unwrap();
        file
    }

    #[test]
    fn a_guarded_file_is_read_without_its_line_break_and_never_shown() {
        let dir = tempfile::tempdir().unwrap();
        for (contents, mode) in [("gull egg\r\n", 0o600), ("gull egg\n", 0o640), ("gull egg", 0o400)] {
            let password = read_password(&file(&dir, contents.as_bytes(), mode), None).unwrap();
            assert_eq!(password.reveal(), "gull egg", "{mode:o}");
            assert_eq!(format!("{password:?}"), "Password(…)");
        }
    }

    #[test]
    fn a_file_open_to_all_is_refused_with_its_name_and_the_mend() {
        let dir = tempfile::tempdir().unwrap();
        for mode in [0o644, 0o604, 0o602] {
            let file = file(&dir, b"gull egg", mode);
            let error = read_password(&file, None).unwrap_err().to_string();
            assert_eq!(error, format!("everybody may read the password file `{}`; run chmod o= on it", file.display()));
        }
    }

    #[test]
    fn a_bare_name_is_a_credential() {
        let dir = tempfile::tempdir().unwrap();
        fs::write(dir.path().join("smtp-password"), "tern").unwrap();
        assert_eq!(read_password(Path::new("smtp-password"), Some(dir.path())).unwrap().reveal(), "tern");
        let error = read_password(Path::new("smtp-password"), None).unwrap_err().to_string();
        assert!(error.contains("LoadCredential=smtp-password:"), "{error}");
        for odd in ["../smtp-password", "sub/pw", ".", ""] {
            let error = read_password(Path::new(odd), Some(dir.path())).unwrap_err();
            assert!(matches!(error, PasswordError::NotWhole(_)), "{odd}: {error}");
        }
    }

    #[test]
    fn what_is_no_password_is_named() {
        let dir = tempfile::tempdir().unwrap();
        let gone = read_password(&dir.path().join("gone"), None).unwrap_err().to_string();
        assert!(gone.contains("gone` can't be read") && gone.contains("check `password_file`"), "{gone}");
        assert!(matches!(read_password(&file(&dir, b"\n", 0o600), None), Err(PasswordError::Empty(_))));
        assert!(matches!(read_password(&file(&dir, b"\xff\xfe", 0o600), None), Err(PasswordError::Unreadable { .. })));
    }
}
