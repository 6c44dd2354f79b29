package atomicfile

import (
	"errors"

	"golang.org/x/sys/windows"
)

// renameNew renames a file and fails with fs.ErrExist if the new name is taken.
func renameNew(from, to string) error {
	a, err := windows.UTF16PtrFromString(from)
	if err != nil {
		return err
	}
	b, err := windows.UTF16PtrFromString(to)
	if err != nil {
		return err
	}
	return windows.MoveFileEx(a, b, windows.MOVEFILE_WRITE_THROUGH) // without the flag that lets it replace
}

// gone tells whether no process has this number.
func gone(pid int) bool {
	h, err := windows.OpenProcess(windows.PROCESS_QUERY_LIMITED_INFORMATION, false, uint32(pid))
	if err != nil {
		return errors.Is(err, windows.ERROR_INVALID_PARAMETER) // no such process
	}
	defer windows.CloseHandle(h) //nolint:errcheck // nothing was changed
	var code uint32
	const stillActive = 259
	return windows.GetExitCodeProcess(h, &code) == nil && code != stillActive
}

// syncDir does nothing: the rename above has been written through.
func syncDir(string) {}
