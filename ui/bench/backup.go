package bench

// backUp asks where to a copy of the workbook is to go. The copy has the bench as it is seen,
// also where the workbook cannot take it.
func (m *Model) backUp(path string) dialog {
	return newPrompt(m, prompt{
		title: "Back up the workbook to which new file? Enter alone puts the copy beside it, where restore finds it", text: path,
		accept: func(m *Model, typed string) (Request, error) {
			m.Say("Copying the workbook …")
			j := m.Job()
			return Ask{Do: func(s Shelf) func(m *Model) Request {
				full, err := s.Backup(typed, j)
				return func(m *Model) Request {
					if err != nil {
						if m.dialog == nil { // with the name to mend
							m.open(m.backUp(typed))
						}
						m.Alert("No copy was made. %s", capital(err.Error()))
						return nil
					}
					m.Say("The workbook is copied and checked: %s", full)
					return nil
				}
			}}, nil
		},
	})
}
