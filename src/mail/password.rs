//! The mail password, from a file or a systemd credential.

use std::fmt;
use std::fs;
use std::path::{Path, PathBuf};

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
        "`{0}` is a credential's name, and the service was given none; give `password_file` as a whole path, or add LoadCredential={0}: to the unit"
    )]
    NoCredentials(String),
    /// The file can't be read.
    #[error("the password file `{path}` can't be read: {why}; check `password_file` in dawnpack.toml")]
    Unreadable {
        /// Which file.
        path: PathBuf,
        /// What the system said.
        why: std::io::Error,
    },
    /// Others may read it.
    #[error("others may read the password file `{0}`; run chmod 600 on it")]
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
    let path = if file.is_absolute() {
        file.to_owned()
    } else {
        let name = file.display().to_string();
        credentials.ok_or(PasswordError::NoCredentials(name))?.join(file)
    };
    let unreadable = |why| PasswordError::Unreadable { path: path.clone(), why };
    // A credentials directory is guarded by systemd itself.
    if file.is_absolute() && is_open_to_others(&path).map_err(unreadable)? {
        return Err(PasswordError::Open(path));
    }
    let text = fs::read_to_string(&path).map_err(unreadable)?;
    let secret = text.trim_end_matches(['\r', '\n']);
    if secret.is_empty() {
        return Err(PasswordError::Empty(path));
    }
    Ok(Password(secret.to_owned()))
}

#[cfg(unix)]
fn is_open_to_others(path: &Path) -> std::io::Result<bool> {
    use std::os::unix::fs::PermissionsExt as _;
    Ok(fs::metadata(path)?.permissions().mode() & 0o077 != 0)
}

#[cfg(not(unix))]
fn is_open_to_others(path: &Path) -> std::io::Result<bool> {
    fs::metadata(path).map(|_| false)
}

#[cfg(all(test, unix))]
mod tests {
    use std::os::unix::fs::PermissionsExt as _;

    use super::*;

    #[test]
    fn a_guarded_file_is_read_without_its_line_break_and_never_shown() {
        let dir = tempfile::tempdir().unwrap();
        let file = dir.path().join("pw");
        fs::write(&file, "gull egg\r\n").unwrap();
        fs::set_permissions(&file, fs::Permissions::from_mode(0o600)).unwrap();
        let password = read_password(&file, None).unwrap();
        assert_eq!(password.reveal(), "gull egg");
        assert_eq!(format!("{password:?}"), "Password(…)");
    }

    #[test]
    fn a_file_open_to_others_is_refused() {
        let dir = tempfile::tempdir().unwrap();
        let file = dir.path().join("pw");
        fs::write(&file, "gull egg").unwrap();
        fs::set_permissions(&file, fs::Permissions::from_mode(0o644)).unwrap();
        assert!(matches!(read_password(&file, None), Err(PasswordError::Open(_))));
    }

    #[test]
    fn a_bare_name_is_a_credential() {
        let dir = tempfile::tempdir().unwrap();
        fs::write(dir.path().join("smtp-password"), "tern").unwrap();
        assert_eq!(read_password(Path::new("smtp-password"), Some(dir.path())).unwrap().reveal(), "tern");
        assert!(matches!(read_password(Path::new("smtp-password"), None), Err(PasswordError::NoCredentials(_))));
    }
}
