"""An edit tried on a copy of the job: which small edits cure a finding, and what else do they change?"""
